package storetest

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/store"
)

var draftTests = []namedSpecTest{
	{"Life", draftLife},
	{"Refusals", draftRefusals},
	{"Race", draftRace},
}

// draftOf makes a draft that is wrong as a sheet.
func draftOf(n int, note string) store.Draft {
	return store.Draft{
		SpecID:     SpecID(n),
		Sheet:      &pb.SpecSheet{SpecId: SpecID(n), ChangeNote: note, Characteristics: []*pb.Characteristic{{}, {Id: "?"}}},
		UpdateTime: Base,
	}
}

func draftLife(t *testing.T, open specOpener) {
	s := open(t)
	ctx := context.Background()
	if _, err := s.GetDraft(ctx, SpecID(1)); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("GetDraft: got %v, wanted ErrNotFound", err)
	}
	if err := s.DeleteDraft(ctx, SpecID(1), ""); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("DeleteDraft: got %v, wanted ErrNotFound", err)
	}
	given := draftOf(1, "one")
	given.UpdateTime = Base.Add(1999).In(time.FixedZone("", 3600))
	given.Etag = "ignored"
	first, err := s.SaveDraft(ctx, given, "")
	if err != nil {
		t.Fatal(err)
	}
	want := draftOf(1, "one")
	want.UpdateTime, want.Etag = Base.Add(time.Microsecond), first.Etag
	got, err := s.GetDraft(ctx, SpecID(1))
	if err != nil || first.Etag == "" || first.Etag == "ignored" {
		t.Errorf("got etag %q, error %v", first.Etag, err)
	}
	for _, d := range []store.Draft{first, got} {
		if diff := difference(want, d); diff != "" {
			t.Errorf("(-want +got)\n%s", diff)
		}
	}

	// The same again changes nothing, whatever it is matched against.
	for _, ifMatch := range []string{"", first.Etag, "stale"} {
		later := draftOf(1, "one")
		later.UpdateTime = Base.Add(time.Hour)
		if again, err := s.SaveDraft(ctx, later, ifMatch); err != nil || difference(want, again) != "" {
			t.Errorf("again: got %+v, error %v", again, err)
		}
	}
	checkChanged := func(err error, etag string) {
		t.Helper()
		var changed *store.SpecChangedError
		if !errors.As(err, &changed) || !errors.Is(err, store.ErrSpecChanged) || !changed.Draft || changed.Etag != etag {
			t.Errorf("got %v, wanted to be told of %q", err, etag)
		}
	}
	_, err = s.SaveDraft(ctx, draftOf(1, "two"), "")
	checkChanged(err, first.Etag)
	second, err := s.SaveDraft(ctx, draftOf(1, "two"), first.Etag)
	if err != nil || second.Etag == first.Etag {
		t.Errorf("got etag %q, error %v", second.Etag, err)
	}
	checkChanged(s.DeleteDraft(ctx, SpecID(1), first.Etag), second.Etag)
	if _, err := s.SaveDraft(ctx, draftOf(2, "two"), "x"); err == nil {
		t.Error("a draft that was not there was replaced")
	} else {
		checkChanged(err, "")
	}
	if err := s.DeleteDraft(ctx, SpecID(1), second.Etag); err != nil {
		t.Errorf("DeleteDraft: %v", err)
	}
	if _, err := s.GetDraft(ctx, SpecID(1)); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("GetDraft: got %v, wanted ErrNotFound", err)
	}
	if changes := feed(t, s, 0, 10); len(changes) != 0 {
		t.Errorf("drafts made changes: %+v", changes)
	}
	// A published spec and its draft are apart.
	if _, err := s.SaveDraft(ctx, draftOf(1, "three"), ""); err != nil {
		t.Error(err)
	}
	publishSteps(t, s, 1, 1)
	if _, err := s.GetDraft(ctx, SpecID(1)); err != nil {
		t.Errorf("publishing took the draft: %v", err)
	}
}

func draftRefusals(t *testing.T, open specOpener) {
	s := open(t)
	for name, spoil := range map[string]func(*store.Draft){
		"no sheet":   func(d *store.Draft) { d.Sheet = nil },
		"no id":      func(d *store.Draft) { d.SpecID, d.Sheet.SpecId = "", "" },
		"bad id":     func(d *store.Draft) { d.SpecID, d.Sheet.SpecId = "A", "A" },
		"another id": func(d *store.Draft) { d.SpecID = "another" },
		"no time":    func(d *store.Draft) { d.UpdateTime = time.Time{} },
		"no text":    func(d *store.Draft) { d.Sheet.Make = "\xff" },
	} {
		d := draftOf(1, "x")
		spoil(&d)
		if _, err := s.SaveDraft(context.Background(), d, ""); !errors.Is(err, store.ErrInvalidSpec) {
			t.Errorf("%s: got %v, wanted ErrInvalidSpec", name, err)
		}
	}
	if _, err := s.GetDraft(context.Background(), SpecID(1)); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("got %v, wanted none left behind", err)
	}
}

func draftRace(t *testing.T, open specOpener) {
	s := open(t)
	etag := ""
	for round := range 4 {
		const editors = 12
		results := make([]error, editors)
		saved := make([]store.Draft, editors)
		var wait sync.WaitGroup
		for i := range editors {
			wait.Go(func() {
				saved[i], results[i] = s.SaveDraft(context.Background(), draftOf(1, fmt.Sprintf("%d by %d", round, i)), etag)
			})
		}
		wait.Wait()
		winner := -1
		for i, err := range results {
			switch {
			case err == nil && winner >= 0:
				t.Fatalf("editors %d and %d both won", winner, i)
			case err == nil:
				winner = i
			case !errors.Is(err, store.ErrSpecChanged):
				t.Errorf("editor %d: %v", i, err)
			}
		}
		if winner < 0 {
			t.Fatalf("nobody won: %v", results)
		}
		etag = saved[winner].Etag
		if got, err := s.GetDraft(context.Background(), SpecID(1)); err != nil || difference(saved[winner], got) != "" {
			t.Errorf("got %+v, error %v, wanted the winner's", got, err)
		}
	}
}
