package storetest

import (
	"context"
	"errors"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/snapgauge/snapgauge/service/store"
)

var withdrawTests = []namedSpecTest{
	{"StaysReadable", withdrawStaysReadable},
	{"Race", withdrawRace},
	{"Refusals", withdrawRefusals},
}

func withdrawStaysReadable(t *testing.T, open specOpener) {
	s := open(t)
	steps := publishSteps(t, s, 1, 3)
	at := Base.AddDate(1, 0, 0).Add(1999).In(time.FixedZone("", -3600))
	change := mustWithdraw(t, s, SpecID(1), 2, "torque of the axle nut is a misprint", at)
	recorded := Base.AddDate(1, 0, 0).Add(time.Microsecond)
	want := store.Change{
		Position: 4, Kind: store.Withdrawn, SpecID: SpecID(1), Revision: 2, Reason: "torque of the axle nut is a misprint",
		RecordedTime: recorded, Digest: steps[1].Digest, Make: "Sample Works", Model: "Tarn 1", ModelYear: 2026, Market: "EU",
		EffectiveTime: steps[1].EffectiveTime,
	}
	if diff := difference(want, change); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
	again := mustWithdraw(t, s, SpecID(1), 2, "another reason", at.AddDate(1, 0, 0))
	if diff := difference(want, again); diff != "" {
		t.Errorf("again: (-want +got)\n%s", diff)
	}
	if diff := difference([]store.Change{want}, feed(t, s, 3, 10)); diff != "" {
		t.Errorf("feed: (-want +got)\n%s", diff)
	}
	withdrawn := steps[1]
	withdrawn.Withdrawn, withdrawn.WithdrawReason = &recorded, want.Reason
	withdrawn.Etag = store.SpecEtag(withdrawn.Digest, true)
	if diff := difference(withdrawn, mustSpec(t, s, SpecID(1), 2)); diff != "" {
		t.Errorf("Spec: (-want +got)\n%s", diff)
	}
	history := []store.PublishedSpec{withoutSheet(steps[2]), withoutSheet(withdrawn), withoutSheet(steps[0])}
	if diff := difference(history, mustHistory(t, s, SpecID(1))); diff != "" {
		t.Errorf("SpecHistory: (-want +got)\n%s", diff)
	}
}

func withdrawRace(t *testing.T, open specOpener) {
	s := open(t)
	publishSteps(t, s, 1, 2)
	const callers = 20
	changes := make([]store.Change, callers)
	var wait sync.WaitGroup
	for i := range callers {
		wait.Go(func() {
			var err error
			changes[i], err = s.WithdrawSpec(context.Background(), SpecID(1), 1, strings.Repeat("x", i+1), Base)
			if err != nil {
				t.Errorf("caller %d: %v", i, err)
			}
		})
	}
	wait.Wait()
	for i := range callers {
		if diff := difference(changes[0], changes[i]); diff != "" {
			t.Errorf("caller %d: (-first +this)\n%s", i, diff)
		}
	}
	if got := CheckSpecs(t, s); len(got) != 3 {
		t.Errorf("got %d changes, wanted 3", len(got))
	}
}

func withdrawRefusals(t *testing.T, open specOpener) {
	s := open(t)
	publishSteps(t, s, 1, 1)
	for _, test := range []struct {
		name, id string
		revision int
		reason   string
		at       time.Time
		want     error
	}{
		{"no such spec", SpecID(2), 1, "x", Base, store.ErrNotFound},
		{"no such revision", SpecID(1), 2, "x", Base, store.ErrNotFound},
		{"no such number", SpecID(1), -1, "x", Base, store.ErrNotFound},
		{"no spec at all", "' OR 1=1 --\x00", 1, "x", Base, store.ErrNotFound},
		{"no reason", SpecID(1), 1, "", Base, store.ErrInvalidSpec},
		{"long reason", SpecID(1), 1, strings.Repeat("x", store.MaxReason+1), Base, store.ErrInvalidSpec},
		{"no text", SpecID(1), 1, "\xff", Base, store.ErrInvalidSpec},
		{"no time", SpecID(1), 1, "x", time.Time{}, store.ErrInvalidSpec},
	} {
		change, err := s.WithdrawSpec(context.Background(), test.id, test.revision, test.reason, test.at)
		if !errors.Is(err, test.want) || change != (store.Change{}) {
			t.Errorf("%s: got %+v, error %v, wanted %v", test.name, change, err, test.want)
		}
	}
	if got := CheckSpecs(t, s); len(got) != 1 {
		t.Errorf("got %d changes, wanted 1", len(got))
	}
}
