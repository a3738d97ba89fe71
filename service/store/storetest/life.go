package storetest

import (
	"context"
	"errors"
	"sync"
	"testing"

	"github.com/snapgauge/snapgauge/service/store"
)

var lifeTests = []namedTest{
	{"Reopen", lifeReopen},
	{"Closed", lifeClosed},
	{"CloseDrains", lifeCloseDrains},
}

func lifeReopen(t *testing.T, open opener) {
	s := open(t)
	mustSubmit(t, s, inShop(Sample(0), Shops[0]))
	mustSubmit(t, s, superseding(inShop(Sample(1), Shops[0]), Sample(0).ID))
	for i := 2; i < 10; i++ {
		mustSubmit(t, s, Sample(i))
	}
	want := all(t, s, store.Query{Limit: 3})
	for range 3 {
		if err := s.Close(); err != nil {
			t.Fatalf("Close: %v", err)
		}
		s = open(t)
		if diff := difference(want, all(t, s, store.Query{Limit: 4})); diff != "" {
			t.Fatalf("(-before +after)\n%s", diff)
		}
	}
	if got, created, err := s.Submit(context.Background(), Sample(2)); err != nil || created || got.ID != Sample(2).ID {
		t.Errorf("again: got %s, created %t, error %v", got.ID, created, err)
	}
	mustSubmit(t, s, Sample(11))
}

func lifeClosed(t *testing.T, open opener) {
	s := open(t)
	ctx := context.Background()
	if err := s.Ping(ctx); err != nil {
		t.Errorf("Ping: %v", err)
	}
	for range 2 {
		if err := s.Close(); err != nil {
			t.Errorf("Close: %v", err)
		}
	}
	_, _, submitErr := s.Submit(ctx, Small(1))
	_, getErr := s.Get(ctx, Small(1).ID)
	_, _, listErr := s.List(ctx, store.Query{Limit: 1})
	for name, err := range map[string]error{"Submit": submitErr, "Get": getErr, "List": listErr, "Ping": s.Ping(ctx)} {
		if !errors.Is(err, store.ErrClosed) {
			t.Errorf("%s: got %v, wanted ErrClosed", name, err)
		}
	}
}

// lifeCloseDrains closes a store under load: what was acknowledged is there, and
// what was not was told so.
func lifeCloseDrains(t *testing.T, open opener) {
	s := open(t)
	const submitters = 32
	var (
		mu           sync.Mutex
		acknowledged []string
		wait         sync.WaitGroup
		begun        = make(chan struct{}, submitters)
	)
	for i := range submitters {
		wait.Go(func() {
			for n := 0; ; n++ {
				setup := Small(i + n*submitters)
				_, created, err := s.Submit(context.Background(), setup)
				if errors.Is(err, store.ErrClosed) {
					return
				}
				if err != nil || !created {
					t.Errorf("submit %s: created %t, error %v", setup.ID, created, err)
					return
				}
				mu.Lock()
				acknowledged = append(acknowledged, setup.ID)
				mu.Unlock()
				if n == 0 {
					begun <- struct{}{}
				}
			}
		})
	}
	for range submitters / 2 {
		<-begun
	}
	if err := s.Close(); err != nil {
		t.Fatalf("Close: %v", err)
	}
	wait.Wait()
	s = open(t)
	for _, id := range acknowledged {
		mustGet(t, s, id)
	}
	if got := len(all(t, s, store.Query{Limit: 100, Basic: true})); got != len(acknowledged) {
		t.Errorf("got %d setups, wanted the %d acknowledged", got, len(acknowledged))
	}
}
