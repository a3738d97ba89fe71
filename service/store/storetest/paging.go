package storetest

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/snapgauge/snapgauge/service/store"
)

var pagingTests = []namedTest{
	{"Property", pagingProperty},
	{"WhileStoring", pagingWhileStoring},
}

// pagingProperty stores set-ups between the pages of a list, before and after
// the place where it stands, and compares every page with the Model's.
func pagingProperty(t *testing.T, open opener) {
	s, model := open(t), NewModel()
	round := 0
	rapid.Check(t, func(t *rapid.T) {
		// A shop of its own for each round, so that they do not meet.
		round++
		shop, stored := fmt.Sprintf("shop-%d", round), 0
		submit := func() store.Setup {
			setup := inShop(Small(stored), shop)
			// Few create times, so that many set-ups share one.
			setup.CreateTime = Base.Add(time.Duration(rapid.IntRange(0, 5).Draw(t, "time")) * time.Microsecond)
			setup.ID = fmt.Sprintf("%02d-%d-%d", rapid.IntRange(0, 99).Draw(t, "id"), round, stored)
			stored++
			mustSubmit(t, model, setup)
			return mustSubmit(t, s, setup)
		}
		filter := store.And{store.Compare{Field: store.FieldShop, Op: store.Equal, Value: shop}}
		if rapid.Bool().Draw(t, "by year") {
			filter = append(filter, store.Compare{Field: store.FieldModelYear, Op: store.Less, Value: int64(2026)})
		}
		var before []store.Setup
		for range rapid.IntRange(0, 12).Draw(t, "before") {
			if setup := submit(); store.Match(filter, setup) {
				before = append(before, setup)
			}
		}
		var seen []store.Setup
		q := store.Query{Filter: filter, Limit: rapid.IntRange(1, 4).Draw(t, "limit")}
		for {
			page, next, err := s.List(context.Background(), q)
			if err != nil {
				t.Fatalf("List: %v", err)
			}
			wantPage, wantNext, err := model.List(context.Background(), q)
			if err != nil {
				t.Fatalf("model: %v", err)
			}
			if diff := difference(ids(wantPage), ids(page)); diff != "" || next != wantNext {
				t.Fatalf("page: cursor %v, wanted %v (-model +store)\n%s", next, wantNext, diff)
			}
			seen = append(seen, page...)
			if next.IsZero() {
				break
			}
			if q.After, err = store.DecodeToken(store.EncodeToken(next, filter), filter); err != nil {
				t.Fatalf("token: %v", err)
			}
			for range rapid.IntRange(0, 3).Draw(t, "between") {
				submit()
			}
		}
		checkSeen(t, before, seen)
	})
}

// checkSeen says whether a list that was paged through is in order, without
// doubles, and has all that was there before it began.
func checkSeen(t tester, before, seen []store.Setup) {
	t.Helper()
	for i := 1; i < len(seen); i++ {
		if newestFirst(seen[i-1], seen[i]) >= 0 {
			t.Errorf("%s is listed before %s", seen[i-1].ID, seen[i].ID)
		}
	}
	for _, setup := range before {
		if !slices.ContainsFunc(seen, func(o store.Setup) bool { return o.ID == setup.ID }) {
			t.Errorf("%s has vanished from the list", setup.ID)
		}
	}
}

// pagingWhileStoring pages through the store again and again while others store
// into it.
func pagingWhileStoring(t *testing.T, open opener) {
	s := open(t)
	const before, writers, each, rounds = 60, 4, 100, 8
	var (
		there []store.Setup
		next  atomic.Int64
		wait  sync.WaitGroup
	)
	for i := range before {
		there = append(there, mustSubmit(t, s, Small(2*i)))
	}
	for range writers {
		wait.Go(func() {
			for range each {
				n := int(next.Add(1))
				setup := Small(1000 + n)
				// Every other one into the middle of what is there.
				if n%2 == 0 {
					setup.CreateTime = Base.Add(time.Duration(n%(2*before))*time.Second + time.Duration(n))
				}
				mustSubmit(failLater{t}, s, setup)
			}
		})
	}
	for range rounds {
		checkSeen(t, there, all(t, s, store.Query{Limit: 7, Basic: true}))
	}
	wait.Wait()
	if got, want := len(all(t, s, store.Query{Limit: 100, Basic: true})), before+writers*each; got != want {
		t.Errorf("got %d setups in the end, wanted %d", got, want)
	}
}

// failLater is a testing.T for goroutines, from which Fatalf is not allowed.
type failLater struct{ *testing.T }

func (f failLater) Fatalf(format string, args ...any) { f.Errorf(format, args...) }
