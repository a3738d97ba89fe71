package server

import (
	"context"
	"fmt"
	"log/slog"
	"path/filepath"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/audit"
	"github.com/snapgauge/snapgauge/service/gauge"
)

// While nobody takes results, records of megabytes do not wait in hundreds.
func TestAuditWaitingBytes(t *testing.T) {
	check, err := newValidator()
	if err != nil {
		t.Fatal(err)
	}
	counts, err := newMetrics(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	run := &auditRun{
		auditor: audit.New(&pb.AuditOptions{}, gauge.Version), interval: 1000, workers: 2, metrics: counts,
		judge: &auditJudge{sheets: &sheets{log: slog.New(slog.DiscardHandler)}, check: check},
		send:  func(*pb.AuditEvent) error { <-ctx.Done(); return ctx.Err() }, // nobody takes
	}
	note := strings.Repeat("x", 1<<20) // too long: a bad record
	var given atomic.Int64
	ended := make(chan error, 1)
	go func() {
		ended <- run.drive(ctx, nil, func(_ context.Context, give func(task) bool) error {
			for range 1000 {
				if !give(task{record: with(func(r *pb.SetupRecord) { r.Note = note })}) {
					return nil
				}
				given.Add(1)
			}
			return nil
		})
	}()
	at := int64(-1)
	eventually(t, "taking in stops", func() bool {
		time.Sleep(100 * time.Millisecond)
		was := at
		at = given.Load()
		return was == at
	})
	// Those that were answered wait as results, which are small.
	if most := int64(mostResults + mostWaitingBytes>>20); at > most {
		t.Errorf("%d records of a megabyte were taken in, want %d at most", at, most)
	}
	cancel()
	if err := <-ended; err != context.Canceled {
		t.Errorf("got %v, want Canceled", err)
	}
}

// What is wrong with a record, however much of it, is one result that any client can
// take and print.
func TestAuditMonstrousRecords(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	huge := strings.Repeat("é", 1<<20)
	var requests []*pb.AuditSetupsRequest
	for range 4 {
		requests = append(requests,
			recordOf(with(func(r *pb.SetupRecord) { r.Unit.Vin = huge })),
			recordOf(with(func(r *pb.SetupRecord) { r.Unit.Model = huge })),
			recordOf(with(func(r *pb.SetupRecord) { r.Technician = huge })),
			recordOf(with(func(r *pb.SetupRecord) { r.FinishTime = &timestamppb.Timestamp{Seconds: 1 << 60} })),
			recordOf(with(func(r *pb.SetupRecord) { r.Readings = make([]*pb.Reading, 1<<16) })),
			recordOf(&pb.SetupRecord{}),
			&pb.AuditSetupsRequest{Message: &pb.AuditSetupsRequest_Unreadable{Unreadable: &pb.UnreadableRecord{Message: huge}}},
		)
	}
	for _, r := range requests {
		for i := range r.GetRecord().GetReadings() {
			if r.GetRecord().Readings[i] == nil {
				r.GetRecord().Readings[i] = &pb.Reading{}
			}
		}
	}
	got, err := b.audit(t, &pb.AuditOptions{}, nil, requests)
	if err != nil || len(got.results) != len(requests) || got.summary.GetErrorCount() != int64(len(requests)) {
		t.Fatalf("got %d results and %v, want an error for each of %d", len(got.results), err, len(requests))
	}
	for _, r := range got.results {
		if size := proto.Size(r); size > 4<<10 {
			t.Errorf("record %d: got a result of %d bytes", r.GetIndex(), size)
		}
		if _, err := protojson.Marshal(r); err != nil {
			t.Errorf("record %d: %v", r.GetIndex(), err)
		}
	}
}

// Many results are sent in messages that a client with the usual bounds takes.
func TestAuditResultBytes(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	var requests []*pb.AuditSetupsRequest
	for range 100 {
		requests = append(requests, recordOf(with(func(r *pb.SetupRecord) {
			for i := range 900 {
				r.Readings = append(r.Readings, &pb.Reading{
					Characteristic: fmt.Sprintf("nobody_knows_%s_%d", strings.Repeat("x", 40), i),
					Result:         &pb.Reading_Value{Value: 1}, Time: r.FinishTime,
				})
			}
		})))
	}
	stream, err := b.audits.AuditSetups(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	go func() {
		for _, r := range append([]*pb.AuditSetupsRequest{startOf(&pb.AuditOptions{})}, requests...) {
			_ = stream.Send(r)
		}
		_ = stream.CloseSend()
	}()
	got, err := receive(stream.Recv)
	if err != nil || len(got.results) != len(requests) {
		t.Fatalf("got %d results and %v, want %d", len(got.results), err, len(requests))
	}
	t.Logf("a result has %d bytes", proto.Size(got.results[0]))
}

// A caller who goes away while nobody takes results leaves nothing behind.
func TestAuditCancelWithoutReceiver(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	if _, err := b.audit(t, &pb.AuditOptions{}, nil, population(5)); err != nil { // there is a connection now
		t.Fatal(err)
	}
	before := runtime.NumGoroutine()
	ctx, cancel := context.WithCancel(t.Context())
	stream, err := b.audits.AuditSetups(ctx)
	if err != nil {
		t.Fatal(err)
	}
	_ = stream.Send(startOf(&pb.AuditOptions{}))
	go func() {
		for stream.Send(recordOf(goodRecord())) == nil {
		}
	}()
	time.Sleep(500 * time.Millisecond)
	if got := b.gauge(t, "snapgauge_audits_in_progress"); got != 1 {
		t.Errorf("got %v audits in progress, want 1", got)
	}
	cancel()
	eventually(t, "its goroutines are gone", func() bool { return runtime.NumGoroutine() <= before })
	if got := b.gauge(t, "snapgauge_audits_in_progress"); got != 0 {
		t.Errorf("got %v audits in progress, want none", got)
	}
}
