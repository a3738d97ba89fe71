package storetest

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/snapgauge/snapgauge/service/store"
)

var supersedeTests = []namedTest{
	{"Chain", supersedeChain},
	{"Refusals", supersedeRefusals},
	{"Race", supersedeRace},
}

func supersedeChain(t *testing.T, open opener) {
	s := open(t)
	const length = 5
	for i := range length {
		setup := inShop(Small(i), Shops[0])
		if i > 0 {
			setup = superseding(setup, Small(i-1).ID)
		}
		if stored := mustSubmit(t, s, setup); stored.SupersededBy != "" {
			t.Errorf("%s is new and superseded by %s", stored.ID, stored.SupersededBy)
		}
	}
	want := func(i int) string {
		if i == length-1 {
			return ""
		}
		return Small(i + 1).ID
	}
	for i := range length {
		if got := mustGet(t, s, Small(i).ID); got.SupersededBy != want(i) {
			t.Errorf("Get %d: superseded by %q, wanted %q", i, got.SupersededBy, want(i))
		}
	}
	for n, got := range all(t, s, store.Query{Limit: 2, Basic: true}) {
		if i := length - 1 - n; got.ID != Small(i).ID || got.SupersededBy != want(i) {
			t.Errorf("List: got %s superseded by %q, wanted %s and %q", got.ID, got.SupersededBy, Small(i).ID, want(i))
		}
	}
	// Both the corrected and the correcting can be submitted again.
	for _, setup := range []store.Setup{
		inShop(Small(0), Shops[0]),
		superseding(inShop(Small(1), Shops[0]), Small(0).ID),
	} {
		got, created, err := s.Submit(context.Background(), setup)
		if err != nil || created || got.SupersededBy == "" {
			t.Errorf("again %s: got created %t, superseded by %q, error %v", setup.ID, created, got.SupersededBy, err)
		}
	}
}

func supersedeRefusals(t *testing.T, open opener) {
	s := open(t)
	mustSubmit(t, s, inShop(Small(1), "here"))
	mustRefuse(t, s, superseding(inShop(Small(2), "here"), "missing"), store.ErrSupersedesMissing)
	mustRefuse(t, s, superseding(inShop(Small(2), "here"), Small(2).ID), store.ErrSupersedesMissing)
	mustRefuse(t, s, superseding(inShop(Small(2), "there"), Small(1).ID), store.ErrSupersedesMissing)
	mustSubmit(t, s, superseding(inShop(Small(2), "here"), Small(1).ID))
	mustRefuse(t, s, superseding(inShop(Small(3), "here"), Small(1).ID), store.ErrAlreadySuperseded)
	// A refusal does not use the request id up.
	mustSubmit(t, s, superseding(inShop(Small(3), "here"), Small(2).ID))
}

func supersedeRace(t *testing.T, open opener) {
	s := open(t)
	mustSubmit(t, s, inShop(Small(0), Shops[0]))
	var won atomic.Value
	var wait sync.WaitGroup
	for i := 1; i <= 20; i++ {
		wait.Go(func() {
			setup := superseding(inShop(Small(i), Shops[0]), Small(0).ID)
			_, _, err := s.Submit(context.Background(), setup)
			switch {
			case err == nil && won.Swap(setup.ID) != nil:
				t.Error("two setups superseded one")
			case err != nil && !errors.Is(err, store.ErrAlreadySuperseded):
				t.Errorf("submit %d: %v", i, err)
			}
		})
	}
	wait.Wait()
	if got := mustGet(t, s, Small(0).ID).SupersededBy; got != won.Load() {
		t.Errorf("superseded by %q, wanted %v", got, won.Load())
	}
	if got := len(all(t, s, store.Query{Limit: 100})); got != 2 {
		t.Errorf("got %d setups, wanted 2", got)
	}
}
