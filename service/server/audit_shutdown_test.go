package server

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// A service that shuts down waits for no caller who has not begun, or who has not
// said yet what there is to audit.
func TestAuditShutdownWhileWaiting(t *testing.T) {
	checkpoint := &pb.AuditCheckpoint{Part: []byte("a part")}
	for name, open := range map[string]func(*bench) (func() error, error){
		"nothing was sent": func(b *bench) (func() error, error) {
			s, err := b.audits.AuditSetups(t.Context())
			return func() error { _, err := s.Recv(); return err }, err
		},
		"start was sent": func(b *bench) (func() error, error) {
			s, err := b.audits.AuditSetups(t.Context())
			_ = s.Send(startOf(&pb.AuditOptions{}))
			return func() error { _, err := s.Recv(); return err }, err
		},
		"part of a checkpoint": func(b *bench) (func() error, error) {
			s, err := b.audits.AuditSetups(t.Context())
			_ = s.Send(startOf(&pb.AuditOptions{}))
			_ = s.Send(&pb.AuditSetupsRequest{Message: &pb.AuditSetupsRequest_Checkpoint{Checkpoint: checkpoint}})
			return func() error { _, err := s.Recv(); return err }, err
		},
		"stored set-ups": func(b *bench) (func() error, error) {
			s, err := b.audits.AuditStoredSetups(t.Context())
			_ = s.Send(storedStartOf(&pb.AuditStoredStart{}))
			return func() error { _, err := s.Recv(); return err }, err
		},
		"a join": func(b *bench) (func() error, error) {
			s, err := b.audits.JoinAudits(t.Context())
			_ = s.Send(&pb.JoinAuditsRequest{Checkpoint: checkpoint})
			return func() error { _, err := s.Recv(); return err }, err
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
			b.submit(t, goodRecord()) // there is a connection now
			ended, err := open(b)
			if err != nil {
				t.Fatal(err)
			}
			time.Sleep(20 * time.Millisecond) // for the service to wait; it may also be refused before
			ctx, cancel := context.WithTimeout(t.Context(), 5*time.Second)
			defer cancel()
			if err := b.server.Shutdown(ctx); err != nil {
				t.Errorf("shutdown: got %v, want the stream to end by itself", err)
			}
			if err := ended(); status.Code(err) != codes.Unavailable {
				t.Errorf("got %v, want Unavailable", err)
			}
		})
	}
}

// A caller who takes nothing holds up a shutdown for no longer than it was given.
func TestAuditShutdownWithoutReceiver(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	stream, err := b.audits.AuditSetups(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if err := stream.Send(startOf(&pb.AuditOptions{})); err != nil {
		t.Fatal(err)
	}
	sending := make(chan struct{})
	go func() {
		defer close(sending)
		for stream.Send(recordOf(goodRecord())) == nil {
		}
	}()
	time.Sleep(500 * time.Millisecond)
	ctx, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer cancel()
	began := time.Now()
	if err := b.server.Shutdown(ctx); err != context.DeadlineExceeded {
		t.Errorf("got %v, want the stream cut off", err)
	}
	if took := time.Since(began); took > 5*time.Second {
		t.Errorf("shutting down took %v", took)
	}
	<-sending
}

// A record that takes long to judge holds up neither the answers before it nor a
// shutdown.
func TestAuditSlowJudging(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shared.db")
	newBench(t, withDB(openFile(t, path)), withSheets(nil)).publish(t, tarnSheet(t, 1, unchanged))
	cut := newLostStore(openFile(t, path))
	b := newAuditBench(t, path, withDB(cut), withSheets(nil), withCatalogue(slowToLoad))
	cut.state.Store(sheetsHang)
	options := &pb.AuditOptions{KnownTime: timestamppb.Now()}
	stream, err := b.audits.AuditSetups(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range []*pb.AuditSetupsRequest{
		startOf(options), recordOf(with(func(r *pb.SetupRecord) { r.Shop = "NOT A SHOP" })), recordOf(tarnRecord()),
	} {
		if err := stream.Send(r); err != nil {
			t.Fatal(err)
		}
	}
	first, err := stream.Recv()
	if err != nil || len(first.GetEvent().GetResults().GetResults()) != 1 {
		t.Fatalf("got %v and %v, want the first result", first, err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	down := make(chan error, 1)
	go func() { down <- b.server.Shutdown(ctx) }()
	got, err := receive(stream.Recv)
	if status.Code(err) != codes.Unavailable || len(got.checkpoints) != 1 || got.checkpoints[0].count != 1 {
		t.Errorf("got %v and %v, want Unavailable after a checkpoint of one record", err, got.checkpoints)
	}
	if err := <-down; err != nil {
		t.Errorf("shutdown: %v", err)
	}
}

// When the sheets in force cannot be read any more, the audit ends with
// UNAVAILABLE after a checkpoint, and another replica ends it as if nothing had
// been.
func TestAuditStaleCatalogue(t *testing.T) {
	for name, how := range map[string]int32{"store fails": storeFails, "store hangs": storeHangs} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			path := filepath.Join(t.TempDir(), "shared.db")
			other := newAuditBench(t, path)
			cut := newLostStore(openFile(t, path))
			b := newAuditBench(t, path, withDB(cut), withSheets(nil), withCatalogue(soonStale))
			requests := population(60)
			options := &pb.AuditOptions{KnownTime: timestamppb.Now(), CheckpointInterval: 1000}
			whole, err := other.audit(t, options, nil, requests)
			if err != nil {
				t.Fatal(err)
			}
			stream, err := b.audits.AuditSetups(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			for _, r := range append([]*pb.AuditSetupsRequest{startOf(options)}, requests[:25]...) {
				if err := stream.Send(r); err != nil {
					t.Fatal(err)
				}
			}
			var got told
			for len(got.results) < 25 {
				resp, err := stream.Recv()
				if err != nil {
					t.Fatal(err)
				}
				got.take(resp.GetEvent())
			}
			cut.state.Store(how)
			time.Sleep(2 * soonStale.MaxStale)
			for _, r := range requests[25:] {
				if stream.Send(r) != nil {
					break // receiving says why
				}
			}
			_ = stream.CloseSend()
			rest, err := receive(stream.Recv)
			wantStatus(t, err, codes.Unavailable, reasonCatalogueStale, "")
			if len(rest.checkpoints) != 1 || rest.summary != nil {
				t.Fatalf("got %d checkpoints and the summary %v, want one and none", len(rest.checkpoints), rest.summary)
			}
			from := rest.checkpoints[0]
			results := append(got.results, rest.results...)
			if from.count != int64(len(results)) || !equalAll(results, whole.results[:from.count]) {
				t.Errorf("got a checkpoint at %d and %d results, want it after the last of the right ones", from.count, len(results))
			}
			ended, err := other.audit(t, options, &from, requests[from.count:])
			if err != nil || !proto.Equal(ended.summary, whole.summary) || !equalAll(ended.results, whole.results[from.count:]) {
				t.Errorf("got %v and another audit, want the rest of the whole", err)
			}
		})
	}
}
