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

var contextTests = []namedTest{
	{"Ended", contextEnded},
	{"EndsWhileWaiting", contextEndsWhileWaiting},
}

func contextEnded(t *testing.T, open opener) {
	s := open(t)
	mustSubmit(t, s, Small(1))
	cancelled, cancel := context.WithCancelCause(context.Background())
	cancel(errors.New("a cause of the caller's"))
	late, cancelLate := context.WithDeadline(context.Background(), time.Unix(0, 0))
	defer cancelLate()
	for ctx, want := range map[context.Context]error{cancelled: context.Canceled, late: context.DeadlineExceeded} {
		if _, _, err := s.Submit(ctx, Small(2)); err != want {
			t.Errorf("Submit: got %v, wanted %v", err, want)
		}
		if _, err := s.Get(ctx, Small(1).ID); err != want {
			t.Errorf("Get: got %v, wanted %v", err, want)
		}
		if _, _, err := s.List(ctx, store.Query{Limit: 1}); err != want {
			t.Errorf("List: got %v, wanted %v", err, want)
		}
		if err := s.Ping(ctx); err != want {
			t.Errorf("Ping: got %v, wanted %v", err, want)
		}
	}
	if got := ids(all(t, s, store.Query{Limit: 10})); len(got) != 1 {
		t.Errorf("got %v stored, wanted what was there before", got)
	}
}

// contextEndsWhileWaiting gives submits too little time and then settles them.
func contextEndsWhileWaiting(t *testing.T, open opener) {
	s := open(t)
	const submits = 300
	var wait sync.WaitGroup
	results := make([]error, submits)
	for i := range submits {
		wait.Go(func() {
			ctx, cancel := context.WithTimeout(context.Background(), time.Duration(rand.IntN(3000))*time.Microsecond)
			defer cancel()
			_, _, results[i] = s.Submit(ctx, Small(i))
			if err := results[i]; err != nil && err != context.DeadlineExceeded {
				t.Errorf("submit %d: got %v, wanted nothing else than the context's error", i, err)
			}
		})
	}
	wait.Wait()
	for i, err := range results {
		stored, created, errAgain := s.Submit(context.Background(), Small(i))
		if errAgain != nil || stored.ID != Small(i).ID || err == nil && created {
			t.Errorf("submit %d, first %v: then got %q, created %t, error %v", i, err, stored.ID, created, errAgain)
		}
	}
	if got := len(all(t, s, store.Query{Limit: 100, Basic: true})); got != submits {
		t.Errorf("got %d setups, wanted %d", got, submits)
	}
}
