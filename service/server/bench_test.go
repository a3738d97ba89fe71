package server

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net"
	"path/filepath"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/health"
	healthpb "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/spec"
)

// benchReadings is the size of the record that the design's figures are for.
const benchReadings = 64

// benchSheet specifies so many lengths, each of which record reads.
func benchSheet(b *testing.B) (*spec.Revision, *pb.SetupRecord) {
	sheet := &pb.SpecSheet{
		SpecId: "measure-64-2026-eu", Revision: 1, Invented: true,
		EffectiveTime:  timestamppb.New(testFinish.AddDate(-1, 0, 0)),
		ChangeNote:     "First issue.",
		SourceDocument: "Invented for measuring",
		Make:           "Quillback", Model: "Measure 64", ModelYear: 2026, Market: "EU",
		Vin: &pb.VinCoverage{Patterns: []string{"0VBRL????T1??????"}},
	}
	record := with(func(r *pb.SetupRecord) {
		r.Unit.Model = sheet.Model
		r.Readings = nil
		r.Instruments = []*pb.Instrument{{
			Id: "caliper", Kind: pb.InstrumentKind_INSTRUMENT_KIND_CALIPER, Unit: "mm",
			Accuracy: &pb.Instrument_MaxPermissibleError{MaxPermissibleError: 0.03}, Resolution: 0.01,
		}}
	})
	for i := range benchReadings {
		id := fmt.Sprintf("characteristic_%d", i)
		sheet.Characteristics = append(sheet.Characteristics, &pb.Characteristic{
			Id: id, DisplayName: fmt.Sprintf("Characteristic %d", i),
			Group:        pb.Group_GROUP_CONTROLS,
			Limits:       &pb.Limits{Lower: proto.Float64(9), Upper: proto.Float64(11), Nominal: proto.Float64(10), Unit: "mm"},
			Kind:         &pb.Characteristic_Measured{Measured: &pb.Measured{}},
			DecisionRule: pb.DecisionRule_DECISION_RULE_GUARDED_ACCEPTANCE,
			Severity:     pb.Severity_SEVERITY_FUNCTION,
			RequiredIn:   []pb.Phase{pb.Phase_PHASE_PRE_DELIVERY},
			Source:       "Invented",
		})
		record.Readings = append(record.Readings, &pb.Reading{
			Characteristic: id, Result: &pb.Reading_Value{Value: 10}, Unit: "mm", Instrument: "caliper",
			Time: timestamppb.New(testFinish.Add(-time.Minute)),
		})
	}
	revision, err := spec.NewRevision(sheet)
	if err != nil {
		b.Fatal(err)
	}
	return revision, record
}

// benchCatalogue is a running catalogue of one revision.
func benchCatalogue(b *testing.B, revision *spec.Revision) *catalogue.Catalogue {
	live := openCatalogue(b, openFile(b, filepath.Join(b.TempDir(), "bench.db")), catalogue.Config{})
	if _, err := live.Seed(b.Context(), []*spec.Revision{revision}); err != nil {
		b.Fatal(err)
	}
	return live
}

// loopback serves over TCP until the benchmark ends.
func loopback(b *testing.B, serve func(net.Listener) error, stop func()) *grpc.ClientConn {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		b.Fatal(err)
	}
	served := make(chan error, 1)
	go func() { served <- serve(listener) }()
	conn, err := grpc.NewClient(listener.Addr().String(), grpc.WithTransportCredentials(insecure.NewCredentials()))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		_ = conn.Close()
		stop()
		if err := <-served; err != nil {
			b.Error(err)
		}
	})
	return conn
}

// benchClients gives a call of the whole service with logging and metrics on,
// and one of an empty unary method on a server with nothing else.
func benchClients(b *testing.B) (validate, echo func() error) {
	revision, record := benchSheet(b)
	service, err := New(Config{
		Catalogue: benchCatalogue(b, revision),
		Store:     faultyStore{}, // answers pings, and nothing else is asked
		Log:       slog.New(slog.NewTextHandler(io.Discard, nil)),
		Metrics:   prometheus.NewRegistry(),
	})
	if err != nil {
		b.Fatal(err)
	}
	conn := loopback(b,
		func(l net.Listener) error { return service.Serve(context.Background(), l) },
		func() { _ = service.Shutdown(context.Background()) })
	setups := pb.NewSetupServiceClient(conn)
	request := &pb.ValidateSetupRequest{Record: record}
	validate = func() error {
		resp, err := setups.ValidateSetup(context.Background(), request)
		if err == nil && resp.GetReport().GetVerdict() != pb.Verdict_VERDICT_ACCEPT {
			err = fmt.Errorf("got %v", resp)
		}
		return err
	}

	bare := grpc.NewServer()
	healthpb.RegisterHealthServer(bare, health.NewServer())
	watcher := healthpb.NewHealthClient(loopback(b, bare.Serve, bare.Stop))
	echo = func() error {
		_, err := watcher.Check(context.Background(), &healthpb.HealthCheckRequest{})
		return err
	}
	for range 100 { // connect, and fill pools and caches
		if err := validate(); err != nil {
			b.Fatal(err)
		}
		if err := echo(); err != nil {
			b.Fatal(err)
		}
	}
	return validate, echo
}

// BenchmarkValidateSetup judges a record of 64 readings over loopback with one
// call at a time and with 32, and does as many empty calls beside it. The metric
// of-echo is its throughput as a part of theirs.
func BenchmarkValidateSetup(b *testing.B) {
	validate, echo := benchClients(b)
	for _, tc := range []struct {
		name    string
		callers int
	}{{"lone", 1}, {"32-callers", 32}} {
		b.Run(tc.name, func(b *testing.B) {
			perEcho := timeCalls(b, tc.callers, echo)
			b.ReportAllocs()
			b.ResetTimer()
			perCall := timeCalls(b, tc.callers, validate)
			b.StopTimer()
			b.ReportMetric(float64(perEcho.Nanoseconds()), "echo-ns/op")
			b.ReportMetric(float64(perEcho)/float64(perCall), "of-echo")
		})
	}
}

// timeCalls makes b.N calls from so many callers, and returns the time for one.
func timeCalls(b *testing.B, callers int, call func() error) time.Duration {
	start := time.Now()
	failed := make(chan error, callers)
	for caller := range callers {
		go func() {
			var err error
			for i := caller; i < b.N && err == nil; i += callers {
				err = call()
			}
			failed <- err
		}()
	}
	for range callers {
		if err := <-failed; err != nil {
			b.Fatal(err)
		}
	}
	return max(1, time.Since(start)/time.Duration(b.N))
}

// BenchmarkStages tells where the time of a call goes on the server, the
// transport aside.
func BenchmarkStages(b *testing.B) {
	revision, record := benchSheet(b)
	live := benchCatalogue(b, revision)
	check, err := newValidator()
	if err != nil {
		b.Fatal(err)
	}
	counts, err := newMetrics(nil, live)
	if err != nil {
		b.Fatal(err)
	}
	service := &setupService{sheets: &sheets{live: live}, metrics: counts}
	request := &pb.ValidateSetupRequest{Record: record}
	encoded, err := proto.Marshal(request)
	if err != nil {
		b.Fatal(err)
	}
	for _, stage := range []struct {
		name string
		do   func() error
	}{
		{"decode", func() error { return proto.Unmarshal(encoded, &pb.ValidateSetupRequest{}) }},
		{"validate", func() error { return check.prepared.Validate(request) }},
		{"times", func() error { return checkTimes(request) }},
		{"handler", func() error { _, err := service.ValidateSetup(context.Background(), request); return err }},
	} {
		b.Run(stage.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := stage.do(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
