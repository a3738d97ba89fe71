package storetest

import (
	"context"
	"errors"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"github.com/snapgauge/snapgauge/service/store"
)

var specLifeTests = []namedSpecTest{
	{"Reopen", specLifeReopen},
	{"Closed", specLifeClosed},
	{"ContextEnded", specLifeContextEnded},
	{"EndsWhileWaiting", specLifeEndsWhileWaiting},
}

func specLifeReopen(t *testing.T, open specOpener) {
	s := open(t)
	steps := publishSteps(t, s, 1, 3)
	mustWithdraw(t, s, SpecID(1), 2, "misprint", Base)
	draft, err := s.SaveDraft(context.Background(), draftOf(1, "x"), "")
	if err != nil {
		t.Fatal(err)
	}
	mustSubmit(t, s, Small(1))
	wantHistory, wantFeed := mustHistory(t, s, SpecID(1)), feed(t, s, 0, 10)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open(t)
	if diff := difference(wantHistory, mustHistory(t, s, SpecID(1))); diff != "" {
		t.Errorf("history: (-before +after)\n%s", diff)
	}
	if diff := difference(wantFeed, feed(t, s, 0, 10)); diff != "" {
		t.Errorf("feed: (-before +after)\n%s", diff)
	}
	if got, err := s.GetDraft(context.Background(), SpecID(1)); err != nil || difference(draft, got) != "" {
		t.Errorf("draft: got %+v, error %v", got, err)
	}
	if p := mustPublish(t, s, Revision(1, 4), steps[2].Etag); p.Position != 5 {
		t.Errorf("got position %d, wanted 5", p.Position)
	}
	CheckSpecs(t, s)
}

// calls makes every call of a SpecStore once.
func calls(ctx context.Context, s store.SpecStore) map[string]error {
	_, _, publish := s.PublishSpec(ctx, Revision(8, 1), "")
	_, withdraw := s.WithdrawSpec(ctx, SpecID(1), 1, "x", Base)
	_, spec := s.Spec(ctx, SpecID(1), 1)
	_, history := s.SpecHistory(ctx, SpecID(1))
	_, changes := s.SpecChanges(ctx, 0, 1)
	_, head := s.SpecHead(ctx)
	_, watch := s.WatchSpecHead(ctx)
	_, save := s.SaveDraft(ctx, draftOf(8, "x"), "")
	_, get := s.GetDraft(ctx, SpecID(1))
	return map[string]error{
		"PublishSpec": publish, "WithdrawSpec": withdraw, "Spec": spec, "SpecHistory": history, "SpecChanges": changes,
		"SpecHead": head, "WatchSpecHead": watch, "SaveDraft": save, "GetDraft": get,
		"DeleteDraft": s.DeleteDraft(ctx, SpecID(1), ""),
	}
}

func specLifeClosed(t *testing.T, open specOpener) {
	s := open(t)
	publishSteps(t, s, 1, 1)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for name, err := range calls(context.Background(), s) {
		if !errors.Is(err, store.ErrClosed) {
			t.Errorf("%s: got %v, wanted ErrClosed", name, err)
		}
	}
}

func specLifeContextEnded(t *testing.T, open specOpener) {
	s := open(t)
	publishSteps(t, s, 1, 1)
	cancelled, cancel := context.WithCancelCause(context.Background())
	cancel(errors.New("a cause of the caller's"))
	late, cancelLate := context.WithDeadline(context.Background(), time.Unix(0, 0))
	defer cancelLate()
	for ctx, want := range map[context.Context]error{cancelled: context.Canceled, late: context.DeadlineExceeded} {
		for name, err := range calls(ctx, s) {
			if err != want {
				t.Errorf("%s: got %v, wanted %v", name, err, want)
			}
		}
	}
	if got := CheckSpecs(t, s); len(got) != 1 {
		t.Errorf("got %d changes, wanted 1", len(got))
	}
}

// specLifeEndsWhileWaiting gives publishers too little time and then settles what
// became of each.
func specLifeEndsWhileWaiting(t *testing.T, open specOpener) {
	s := open(t)
	const publishers = 100
	results := make([]error, publishers)
	var wait sync.WaitGroup
	for n := range publishers {
		wait.Go(func() {
			ctx, cancel := context.WithTimeout(context.Background(), time.Duration(rand.IntN(10_000))*time.Microsecond)
			defer cancel()
			_, _, results[n] = s.PublishSpec(ctx, Revision(n, 1), "")
			if err := results[n]; err != nil && err != context.DeadlineExceeded {
				t.Errorf("publisher %d: got %v, wanted nothing else than the context's error", n, err)
			}
		})
	}
	wait.Wait()
	for n, err := range results {
		p, created, errAgain := s.PublishSpec(context.Background(), Revision(n, 1), "")
		if errAgain != nil || p.Revision != 1 || err == nil && created {
			t.Errorf("publisher %d, first %v: then got %s, created %t, error %v", n, err, p.Name(), created, errAgain)
		}
	}
	if got := CheckSpecs(t, s); len(got) != publishers {
		t.Errorf("got %d changes, wanted %d", len(got), publishers)
	}
}
