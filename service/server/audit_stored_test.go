package server

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/store"
)

func storedStartOf(start *pb.AuditStoredStart) *pb.AuditStoredSetupsRequest {
	return &pb.AuditStoredSetupsRequest{Message: &pb.AuditStoredSetupsRequest_Start{Start: start}}
}

// auditStored audits what is stored.
func (b *bench) auditStored(t testing.TB, start *pb.AuditStoredStart, from *savedAudit) (told, error) {
	t.Helper()
	stream, err := b.audits.AuditStoredSetups(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	_ = stream.Send(storedStartOf(start))
	if from != nil {
		for _, p := range partsOf(*from) {
			_ = stream.Send(&pb.AuditStoredSetupsRequest{Message: &pb.AuditStoredSetupsRequest_Checkpoint{Checkpoint: p}})
		}
	}
	_ = stream.CloseSend()
	return receive(stream.Recv)
}

// submitSome stores set-ups of machines of their own.
func (b *bench) submitSome(t testing.TB, first, n int) (names []string) {
	for i := first; i < first+n; i++ {
		names = append(names, b.submit(t, with(func(r *pb.SetupRecord) {
			r.Unit.Vin = fmt.Sprintf("0VBRL0000T1%06d", i)
			if i%4 == 0 {
				r.Shop = "south"
			}
		})).GetName())
	}
	return names
}

// correct stores a correction.
func (b *bench) correct(t testing.TB, i int, name string) string {
	return b.submit(t, with(func(r *pb.SetupRecord) {
		r.Unit.Vin, r.Supersedes = fmt.Sprintf("0VBRL0000T1%06d", i), name
		if i%4 == 0 {
			r.Shop = "south"
		}
	})).GetName()
}

// meanwhile does something once a page was read.
type meanwhile struct {
	store.DB
	pages int
	what  func(page int)
}

func (m *meanwhile) List(ctx context.Context, q store.Query) ([]store.Setup, store.Cursor, error) {
	stored, next, err := m.DB.List(ctx, q)
	m.pages++
	m.what(m.pages)
	return stored, next, err
}

// What is stored or corrected after an audit began changes nothing in it, whether
// it goes on from a checkpoint or not.
func TestAuditStoredMeanwhile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "audit.db")
	writer := newAuditBench(t, path)
	names := writer.submitSome(t, 0, 100)
	corrected := writer.correct(t, 7, names[7])
	quiet, err := writer.auditStored(t, &pb.AuditStoredStart{Options: &pb.AuditOptions{CheckpointInterval: 30}}, nil)
	if err != nil || len(quiet.results) != 100 || quiet.results[0].GetSetup() != corrected {
		t.Fatalf("got %d results and %v, want 100", len(quiet.results), err)
	}
	m := &meanwhile{what: func(page int) {
		if page > 3 {
			return
		}
		writer.submitSome(t, 100*page, 3)
		writer.correct(t, page, names[page])       // in no page yet
		writer.correct(t, 99-page, names[99-page]) // in the first
	}}
	b := newAuditBench(t, path, withSheets(nil), withStore(func(db store.DB) store.DB { m.DB = db; return m }))
	start := &pb.AuditStoredStart{Options: &pb.AuditOptions{CheckpointInterval: 30, KnownTime: quiet.summary.GetOptions().GetKnownTime()}}
	got, err := b.auditStored(t, start, nil)
	if err != nil || !equalAll(got.results, quiet.results) {
		t.Fatalf("got %d results and %v, want those of the audit while nothing was stored", len(got.results), err)
	}
	for _, from := range got.checkpoints {
		rest, err := writer.auditStored(t, start, &from)
		if err != nil || !equalAll(rest.results, quiet.results[from.count:]) || !proto.Equal(rest.summary, got.summary) {
			t.Errorf("from %d: got %d results and %v, want the rest", from.count, len(rest.results), err)
		}
	}
}

// An audit that had answered nothing yet goes on with what was stored when it
// began.
func TestAuditStoredFromTheBeginning(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	start := &pb.AuditStoredStart{}
	empty, err := b.auditStored(t, start, nil)
	if err != nil || len(empty.checkpoints) != 1 || empty.checkpoints[0].count != 0 {
		t.Fatalf("got %v and %v, want a checkpoint of nothing", empty.checkpoints, err)
	}
	b.submitSome(t, 0, 3)
	again, err := b.auditStored(t, start, &empty.checkpoints[0])
	if err != nil || len(again.results) != 0 || !proto.Equal(again.summary, empty.summary) {
		t.Errorf("got %d results and %v, want none: they were stored later", len(again.results), err)
	}
}

// A checkpoint goes on only with what it was made of.
func TestAuditStoredRefuses(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	b.submitSome(t, 0, 8)
	stored, err := b.auditStored(t, &pb.AuditStoredStart{Options: &pb.AuditOptions{CheckpointInterval: 5}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	sent, err := b.audit(t, &pb.AuditOptions{CheckpointInterval: 5}, nil, population(8))
	if err != nil {
		t.Fatal(err)
	}
	nothing, err := b.audit(t, &pb.AuditOptions{}, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	of := func(_ told, err error) error { return err }
	for name, err := range map[string]error{
		"another filter":              of(b.auditStored(t, &pb.AuditStoredStart{Filter: `shop = "south"`}, &stored.checkpoints[0])),
		"corrected ones too":          of(b.auditStored(t, &pb.AuditStoredStart{IncludeSuperseded: true}, &stored.checkpoints[0])),
		"of records that were sent":   of(b.auditStored(t, &pb.AuditStoredStart{}, &sent.checkpoints[0])),
		"of no record":                of(b.auditStored(t, &pb.AuditStoredStart{}, &nothing.checkpoints[0])),
		"stored ones, records sent":   of(b.audit(t, &pb.AuditOptions{}, &stored.checkpoints[0], population(8)[5:])),
		"stored ones, no record sent": of(b.audit(t, &pb.AuditOptions{}, &stored.checkpoints[1], nil)),
	} {
		if st := status.Convert(err); st.Code() != codes.InvalidArgument || !strings.Contains(fmt.Sprint(st.Details()), reasonCheckpoint) {
			t.Errorf("%s: got %v, want InvalidArgument with %s", name, err, reasonCheckpoint)
		}
	}
}

// A revision that was withdrawn judges when it is asked to.
func TestAuditByWithdrawnRevision(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	b.submitSome(t, 0, 4)
	one := "specs/" + rill + "/revisions/1"
	if _, err := b.specs.WithdrawSpecRevision(t.Context(), &pb.WithdrawSpecRevisionRequest{Name: one, Reason: "Wrong."}); err != nil {
		t.Fatal(err)
	}
	got, err := b.auditStored(t, &pb.AuditStoredStart{
		Options: &pb.AuditOptions{SpecRevision: one}, Filter: `shop = "south"`,
	}, nil)
	if err != nil || len(got.results) != 1 || got.results[0].GetSpecRevision() != one {
		t.Errorf("got %v and %v, want one judged by %s", got.results, err, one)
	}
}

// Stored set-ups are audited like records that are sent, by the revision of their
// day or by another one, and an audit of them can be gone on with.
func TestAuditStoredSetups(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	names := b.submitSome(t, 0, 20)
	corrected := b.correct(t, 1, names[1])
	start := &pb.AuditStoredStart{Options: &pb.AuditOptions{CheckpointInterval: 6}}
	got, err := b.auditStored(t, start, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(got.results) != 20 || got.results[0].GetSetup() != corrected || got.results[1].GetSetup() != names[19] {
		t.Fatalf("got %d results, the first %v", len(got.results), got.results[0])
	}
	if got.results[0].GetVerdictThen() != pb.Verdict_VERDICT_ACCEPT {
		t.Errorf("got %v, want the verdict of the stored report", got.results[0])
	}
	for _, from := range got.checkpoints[:len(got.checkpoints)-1] {
		rest, err := b.auditStored(t, start, &from)
		if err != nil || !proto.Equal(rest.summary, got.summary) || !equalAll(rest.results, got.results[from.count:]) {
			t.Errorf("from %d: got %v and another audit", from.count, err)
		}
	}
	if all, err := b.auditStored(t, &pb.AuditStoredStart{IncludeSuperseded: true}, nil); err != nil || len(all.results) != 21 {
		t.Errorf("with corrected ones: got %d results and %v, want 21", len(all.results), err)
	}
	if south, err := b.auditStored(t, &pb.AuditStoredStart{Filter: `shop = "south"`}, nil); err != nil || len(south.results) != 5 {
		t.Errorf("of one shop: got %d results and %v, want 5", len(south.results), err)
	}
	if _, err := b.auditStored(t, &pb.AuditStoredStart{Filter: `shop ~ 1`}, nil); status.Code(err) != codes.InvalidArgument {
		t.Errorf("got %v, want InvalidArgument", err)
	}
	by, err := b.auditStored(t, &pb.AuditStoredStart{Options: &pb.AuditOptions{SpecRevision: "specs/" + rill + "/revisions/1"}}, nil)
	if err != nil || len(by.results) != 20 || by.results[0].GetSpecRevision() != "specs/"+rill+"/revisions/1" {
		t.Errorf("by one revision: got %d results and %v", len(by.results), err)
	}
}

// A store that fails ends an audit with UNAVAILABLE or INTERNAL, never with a
// summary of less.
func TestAuditStoreFails(t *testing.T) {
	b := newBench(t, withStore(func(db store.DB) store.DB { return failingList{db} }))
	stream, err := b.audits.AuditStoredSetups(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	_ = stream.Send(&pb.AuditStoredSetupsRequest{Message: &pb.AuditStoredSetupsRequest_Start{Start: &pb.AuditStoredStart{}}})
	_ = stream.CloseSend()
	got, err := receive(stream.Recv)
	if status.Code(err) != codes.Internal || got.summary != nil {
		t.Errorf("got %v and %v, want Internal and no summary", err, got.summary)
	}
}

type failingList struct{ store.DB }

func (failingList) List(context.Context, store.Query) ([]store.Setup, store.Cursor, error) {
	return nil, store.Cursor{}, errors.New("disk on fire")
}
