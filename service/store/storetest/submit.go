package storetest

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/store"
)

var submitTests = []namedTest{
	{"KeepsAll", submitKeepsAll},
	{"Again", submitAgain},
	{"AgainConcurrently", submitAgainConcurrently},
	{"RequestReused", submitRequestReused},
	{"Refusals", submitRefusals},
	{"RefusedBesideGood", submitRefusedBesideGood},
	{"Big", submitBig},
	{"Unusual", submitUnusual},
}

func submitKeepsAll(t *testing.T, open opener) {
	s := open(t)
	if _, err := s.Get(context.Background(), "none"); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("Get none: got %v, wanted ErrNotFound", err)
	}
	if _, err := s.Get(context.Background(), "not ' an id"); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("Get of no id: got %v, wanted ErrNotFound", err)
	}
	setup := Sample(1)
	setup.Record.Expectation = &pb.Expectation{Verdict: pb.Verdict_VERDICT_REFER}
	setup.CreateTime = setup.CreateTime.Add(1999 * time.Nanosecond).In(time.FixedZone("", 3600))
	before := copyOf(setup)

	want := copyOf(setup)
	want.Record.Expectation = nil
	want.CreateTime = Sample(1).CreateTime.Add(time.Microsecond)
	stored := mustSubmit(t, s, setup)
	if diff := difference(before, setup); diff != "" {
		t.Errorf("Submit changed what it was given: (-before +after)\n%s", diff)
	}
	for name, got := range map[string]store.Setup{
		"Submit": stored,
		"Get":    mustGet(t, s, setup.ID),
		"List":   all(t, s, store.Query{Limit: 1})[0],
	} {
		if diff := difference(want, got); diff != "" {
			t.Errorf("%s: (-want +got)\n%s", name, diff)
		}
		if got.CreateTime.Location() != time.UTC {
			t.Errorf("%s: create time in %v, wanted UTC", name, got.CreateTime.Location())
		}
	}
}

func submitAgain(t *testing.T, open opener) {
	s := open(t)
	first := mustSubmit(t, s, Sample(1))
	again := Sample(1)
	again.ID = "another-id"
	again.CreateTime = again.CreateTime.Add(time.Hour)
	again.Report.Verdict = pb.Verdict_VERDICT_REFER
	again.Record.Expectation = &pb.Expectation{Verdict: pb.Verdict_VERDICT_REFER}
	got, created, err := s.Submit(context.Background(), again)
	if err != nil || created {
		t.Fatalf("got created %t, error %v, wanted the earlier setup", created, err)
	}
	if diff := difference(first, got); diff != "" {
		t.Errorf("(-first +again)\n%s", diff)
	}
	// The same request id is another request in another shop.
	other := inShop(Sample(1), "elsewhere")
	other.ID = "other-id"
	mustSubmit(t, s, other)
	if got := ids(all(t, s, store.Query{Limit: 10})); len(got) != 2 {
		t.Errorf("got %v, wanted two setups", got)
	}
}

func submitAgainConcurrently(t *testing.T, open opener) {
	s := open(t)
	const submits = 50
	var created atomic.Int32
	got := make([]string, submits)
	var wait sync.WaitGroup
	for i := range submits {
		wait.Go(func() {
			setup := Sample(1)
			setup.ID = fmt.Sprintf("id-%d", i)
			stored, isNew, err := s.Submit(context.Background(), setup)
			if err != nil {
				t.Errorf("submit %d: %v", i, err)
			}
			if isNew {
				created.Add(1)
			}
			got[i] = stored.ID
		})
	}
	wait.Wait()
	if created.Load() != 1 {
		t.Errorf("got %d of %d created, wanted one", created.Load(), submits)
	}
	stored := ids(all(t, s, store.Query{Limit: 100}))
	if len(stored) != 1 {
		t.Fatalf("got %v stored, wanted one", stored)
	}
	for i, id := range got {
		if id != stored[0] {
			t.Errorf("submit %d: got %s, wanted %s", i, id, stored[0])
		}
	}
}

func submitRequestReused(t *testing.T, open opener) {
	s := open(t)
	first := mustSubmit(t, s, Sample(1))
	another := Sample(1)
	another.ID = "another-id"
	another.Record.Readings[0].Result = &pb.Reading_Value{Value: 1e-9}
	mustRefuse(t, s, another, store.ErrRequestReused)
	if diff := difference(first, mustGet(t, s, first.ID)); diff != "" {
		t.Errorf("the first changed: (-first +now)\n%s", diff)
	}
}

func submitRefusals(t *testing.T, open opener) {
	s := open(t)
	mustSubmit(t, s, Small(1))
	taken := Small(2)
	taken.ID = Small(1).ID
	mustRefuse(t, s, taken, store.ErrIDTaken)
	for name, spoil := range map[string]func(*store.Setup){
		"no id":             func(s *store.Setup) { s.ID = "" },
		"capitals":          func(s *store.Setup) { s.ID = "ABC" },
		"long id":           func(s *store.Setup) { s.ID = strings.Repeat("a", 65) },
		"no request id":     func(s *store.Setup) { s.RequestID = "" },
		"no shop":           func(s *store.Setup) { *s = inShop(*s, "") },
		"another shop":      func(s *store.Setup) { s.Shop = "elsewhere" },
		"no record":         func(s *store.Setup) { s.Record = nil },
		"no report":         func(s *store.Setup) { s.Report = nil },
		"no unit":           func(s *store.Setup) { s.Record.Unit = nil },
		"no finish time":    func(s *store.Setup) { s.Record.FinishTime = nil },
		"bad finish time":   func(s *store.Setup) { s.Record.FinishTime = &timestamppb.Timestamp{Nanos: -1} },
		"no create time":    func(s *store.Setup) { s.CreateTime = time.Time{} },
		"superseded by":     func(s *store.Setup) { s.SupersededBy = "x" },
		"bad supersedes":    func(s *store.Setup) { s.Record.Supersedes = "x" },
		"no text in record": func(s *store.Setup) { s.Record.Note = "\xff" },
		"no text in report": func(s *store.Setup) { s.Report.Digest = "\xff" },
	} {
		t.Run(name, func(t *testing.T) {
			setup := Small(3)
			spoil(&setup)
			mustRefuse(t, s, setup, store.ErrInvalidSetup)
		})
	}
}

// submitRefusedBesideGood mixes submits that are refused with such as are not:
// where they share a transaction, they must not share a fate.
func submitRefusedBesideGood(t *testing.T, open opener) {
	s := open(t)
	mustSubmit(t, s, Small(0))
	const submits = 120
	var wait sync.WaitGroup
	for i := 1; i <= submits; i++ {
		setup := inShop(Small(i), Shops[0])
		var want error
		switch i % 4 {
		case 1:
			setup.RequestID, want = Small(0).RequestID, store.ErrRequestReused
		case 2:
			setup.ID, want = Small(0).ID, store.ErrIDTaken
		case 3:
			setup, want = superseding(setup, "missing"), store.ErrSupersedesMissing
		}
		wait.Go(func() {
			if _, created, err := s.Submit(context.Background(), setup); !errors.Is(err, want) || created != (want == nil) {
				t.Errorf("submit %d: got created %t, error %v, wanted error %v", i, created, err, want)
			}
		})
	}
	wait.Wait()
	if got := len(all(t, s, store.Query{Limit: 100})); got != 1+submits/4 {
		t.Errorf("got %d setups, wanted %d", got, 1+submits/4)
	}
}

func submitBig(t *testing.T, open opener) {
	s := open(t)
	setup := sample(1, 1024)
	for _, r := range setup.Record.Readings {
		r.Note = strings.Repeat("ö", 512)
	}
	want := mustSubmit(t, s, setup)
	mustSubmit(t, s, Small(2))
	if diff := difference(want, mustGet(t, s, setup.ID)); diff != "" {
		t.Errorf("(-want +got)\n%.2000s", diff)
	}
	if got, created, err := s.Submit(context.Background(), setup); err != nil || created || got.ID != want.ID {
		t.Errorf("again: got %s, created %t, error %v", got.ID, created, err)
	}
}

// submitUnusual keeps what no form of today makes but the wire allows.
func submitUnusual(t *testing.T, open opener) {
	s := open(t)
	setup := Small(1)
	unknown := protowire.AppendTag(nil, 500, protowire.BytesType)
	unknown = protowire.AppendString(unknown, "from a later version")
	setup.Record.ProtoReflect().SetUnknown(unknown)
	setup.Record.Phase = 99
	setup.Report.Verdict = 99
	setup.Record.Technician = "nul \x00 and ' quote"
	setup.RequestID = "nul \x00 too"
	setup.Record.Readings[0].Result = nil
	setup.CreateTime = time.Date(1, 1, 1, 0, 0, 0, 1000, time.UTC)
	setup.Record.FinishTime = timestamppb.New(time.Date(9999, 12, 31, 23, 59, 59, 999_999_999, time.UTC))
	setup.Record.Expectation = &pb.Expectation{}
	want := mustSubmit(t, s, setup)
	got := mustGet(t, s, setup.ID)
	if diff := difference(want, got); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
	if string(got.Record.ProtoReflect().GetUnknown()) != string(unknown) {
		t.Errorf("unknown fields: got %q, wanted %q", got.Record.ProtoReflect().GetUnknown(), unknown)
	}
	for _, f := range []store.Expr{
		store.Compare{Field: store.FieldTechnician, Op: store.Equal, Value: setup.Record.Technician},
		store.Compare{Field: store.FieldTechnician, Op: store.HasPrefix, Value: "nul \x00 a"},
		store.Compare{Field: store.FieldVerdict, Op: store.Equal, Value: "99"},
		store.Compare{Field: store.FieldCreateTime, Op: store.Less, Value: Base},
		store.Compare{Field: store.FieldFinishTime, Op: store.Greater, Value: Base},
	} {
		if n := len(all(t, s, store.Query{Filter: f, Limit: 10})); n != 1 {
			t.Errorf("%s: got %d, wanted 1", store.Canonical(f), n)
		}
	}
	if got, created, err := s.Submit(context.Background(), setup); err != nil || created || got.ID != want.ID {
		t.Errorf("again: got %s, created %t, error %v", got.ID, created, err)
	}
}
