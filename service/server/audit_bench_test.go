package server

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// benchAuditRecords are records of 64 readings, of 40 shops with four people each.
func benchAuditRecords(record *pb.SetupRecord) []*pb.AuditSetupsRequest {
	var requests []*pb.AuditSetupsRequest
	for i := range 2000 {
		r := proto.CloneOf(record)
		r.Shop, r.Technician = fmt.Sprintf("shop-%d", i%40), fmt.Sprintf("t%d", i/40%4)
		r.Unit.Vin = fmt.Sprintf("0VBRL0000T1%06d", i)
		shift := time.Duration(i) * time.Hour
		r.StartTime = timestamppb.New(r.GetStartTime().AsTime().Add(-shift))
		r.FinishTime = timestamppb.New(r.GetFinishTime().AsTime().Add(-shift))
		for n, reading := range r.GetReadings() {
			reading.Result = &pb.Reading_Value{Value: 10 + float64((i*7+n*13)%61-30)/100}
			reading.Time = timestamppb.New(reading.GetTime().AsTime().Add(-shift))
		}
		requests = append(requests, recordOf(r))
	}
	return requests
}

// echoAudit answers as an audit does, without looking at what it gets: so many
// results to a message, and nothing at the end.
type echoAudit struct {
	pb.UnimplementedAuditServiceServer
	results []*pb.AuditResult
}

func (e *echoAudit) AuditSetups(stream grpc.BidiStreamingServer[pb.AuditSetupsRequest, pb.AuditSetupsResponse]) error {
	answer := func(n int) error {
		return stream.Send(&pb.AuditSetupsResponse{Event: &pb.AuditEvent{Event: &pb.AuditEvent_Results{
			Results: &pb.AuditResults{Results: e.results[:n]},
		}}})
	}
	waiting := 0
	for {
		request, err := stream.Recv()
		if err == io.EOF {
			if waiting == 0 {
				return nil
			}
			return answer(waiting)
		}
		if err != nil {
			return err
		}
		if request.GetRecord() == nil {
			continue
		}
		if waiting++; waiting == mostResults {
			if err := answer(waiting); err != nil {
				return err
			}
			waiting = 0
		}
	}
}

// BenchmarkAudit sends records of 64 readings through one stream over loopback,
// and as many through an echo that takes and gives the same messages. The metric
// of-echo is its throughput as a part of the echo's; client, gRPC and service
// share the machine's processors.
func BenchmarkAudit(b *testing.B) {
	revision, record := benchSheet(b)
	service, err := New(Config{
		Catalogue: benchCatalogue(b, revision),
		Store:     faultyStore{},
		Log:       slog.New(slog.NewTextHandler(io.Discard, nil)),
		Metrics:   prometheus.NewRegistry(),
	})
	if err != nil {
		b.Fatal(err)
	}
	audits := pb.NewAuditServiceClient(loopback(b,
		func(l net.Listener) error { return service.Serve(context.Background(), l) },
		func() { _ = service.Shutdown(context.Background()) }))
	requests := benchAuditRecords(record)
	results := auditOnce(b, audits, requests, mostResults)
	bare := grpc.NewServer()
	pb.RegisterAuditServiceServer(bare, &echoAudit{results: results})
	echo := pb.NewAuditServiceClient(loopback(b, bare.Serve, bare.Stop))
	auditOnce(b, echo, requests, len(requests))

	perEcho := timeAudit(b, echo, requests)
	b.ReportAllocs()
	b.ResetTimer()
	perRecord := timeAudit(b, audits, requests)
	b.StopTimer()
	b.ReportMetric(float64(perEcho.Nanoseconds()), "echo-ns/op")
	b.ReportMetric(float64(perEcho)/float64(perRecord), "of-echo")
	b.ReportMetric(1/perRecord.Seconds(), "records/s")
}

// timeAudit sends b.N records, and returns the time for one.
func timeAudit(b *testing.B, client pb.AuditServiceClient, requests []*pb.AuditSetupsRequest) time.Duration {
	start := time.Now()
	auditOnce(b, client, requests, b.N)
	return time.Since(start) / time.Duration(b.N)
}

// auditOnce sends so many records and gives the first results.
func auditOnce(b *testing.B, client pb.AuditServiceClient, requests []*pb.AuditSetupsRequest, n int) (first []*pb.AuditResult) {
	stream, err := client.AuditSetups(context.Background())
	if err != nil {
		b.Fatal(err)
	}
	go func() {
		_ = stream.Send(startOf(&pb.AuditOptions{}))
		for i := range n {
			if stream.Send(requests[i%len(requests)]) != nil {
				return // Recv says why
			}
		}
		_ = stream.CloseSend()
	}()
	got := 0
	for {
		resp, err := stream.Recv()
		if err == io.EOF {
			break
		}
		if err != nil {
			b.Fatal(err)
		}
		results := resp.GetEvent().GetResults().GetResults()
		got += len(results)
		if len(first) < mostResults {
			first = append(first, results...)
		}
	}
	if got != n {
		b.Fatalf("got %d results, want %d", got, n)
	}
	return first
}
