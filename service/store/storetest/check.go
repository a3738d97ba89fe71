package storetest

import (
	"context"
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"github.com/snapgauge/snapgauge/service/store"
)

// tester is what testing.T and rapid.T have in common.
type tester interface {
	Helper()
	Fatalf(format string, args ...any)
	Errorf(format string, args ...any)
}

func difference(want, got any) string { return cmp.Diff(want, got, protocmp.Transform()) }

// mustSubmit stores a set-up that is new.
func mustSubmit(t tester, s store.Store, setup store.Setup) store.Setup {
	t.Helper()
	stored, created, err := s.Submit(context.Background(), setup)
	if err != nil || !created {
		t.Fatalf("Submit %s: got created %t and error %v, wanted it stored", setup.ID, created, err)
	}
	return stored
}

func mustGet(t tester, s store.Store, id string) store.Setup {
	t.Helper()
	setup, err := s.Get(context.Background(), id)
	if err != nil {
		t.Fatalf("Get %s: %v", id, err)
	}
	return setup
}

// mustRefuse submits what must fail and leave nothing behind.
func mustRefuse(t *testing.T, s store.Store, setup store.Setup, want error) {
	t.Helper()
	before := len(all(t, s, store.Query{Limit: 100}))
	stored, created, err := s.Submit(context.Background(), setup)
	if !errors.Is(err, want) || created || stored.ID != "" {
		t.Errorf("Submit %.80q: got setup %q, created %t, error %v, wanted error %v", setup.ID, stored.ID, created, err, want)
	}
	if after := len(all(t, s, store.Query{Limit: 100})); after != before {
		t.Errorf("a refused submit left %d setups where %d were", after, before)
	}
}

// all pages through a list to its end.
func all(t tester, s store.Store, q store.Query) []store.Setup {
	t.Helper()
	var setups []store.Setup
	for {
		page, next, err := s.List(context.Background(), q)
		if err != nil {
			t.Fatalf("List: %v", err)
		}
		if len(page) > q.Limit || !next.IsZero() && len(page) != min(q.Limit, store.MaxLimit) {
			t.Fatalf("List: got %d setups and cursor %v, wanted a full page of %d or the last", len(page), next, q.Limit)
		}
		setups = append(setups, page...)
		if next.IsZero() {
			return setups
		}
		q.After = next
	}
}

func ids(setups []store.Setup) []string {
	names := make([]string, 0, len(setups))
	for _, s := range setups {
		names = append(names, s.ID)
	}
	return names
}
