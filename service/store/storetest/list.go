package storetest

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/snapgauge/snapgauge/service/store"
)

var listTests = []namedTest{
	{"Order", listOrder},
	{"Limits", listLimits},
	{"Basic", listBasic},
	{"Refusals", listRefusals},
}

func listOrder(t *testing.T, open opener) {
	s := open(t)
	if page, next, err := s.List(context.Background(), store.Query{Limit: 1}); err != nil || len(page) != 0 || !next.IsZero() {
		t.Errorf("empty store: got %v, %v, %v", page, next, err)
	}
	// Stored out of order, three to a create time, some before 1970.
	var want []store.Setup
	for i := range 30 {
		n := i * 7 % 30
		setup := Small(n)
		setup.CreateTime = time.Unix(int64(n/3-5), 0)
		want = append(want, mustSubmit(t, s, setup))
	}
	slices.SortFunc(want, newestFirst)
	for _, limit := range []int{1, 2, 3, 7, 29, 30, 31} {
		if diff := difference(ids(want), ids(all(t, s, store.Query{Limit: limit}))); diff != "" {
			t.Errorf("limit %d: (-want +got)\n%s", limit, diff)
		}
	}
}

func listLimits(t *testing.T, open opener) {
	s := open(t)
	for i := range 3 {
		mustSubmit(t, s, Small(i))
	}
	page, next, err := s.List(context.Background(), store.Query{Limit: 1 << 60})
	if err != nil || len(page) != 3 || !next.IsZero() {
		t.Errorf("a limit above the greatest: got %d setups, cursor %v, error %v", len(page), next, err)
	}
	// A cursor need not stand after a setup that this store has.
	cursor := store.CursorAfter(Small(1).CreateTime, "zzz")
	page, next, err = s.List(context.Background(), store.Query{Limit: 10, After: cursor})
	if err != nil || len(page) != 2 || !next.IsZero() {
		t.Errorf("from between: got %v, cursor %v, error %v, wanted two setups", ids(page), next, err)
	}
}

func listBasic(t *testing.T, open opener) {
	s := open(t)
	for i := range 5 {
		mustSubmit(t, s, Sample(i))
	}
	for _, filter := range []store.Expr{nil, store.Compare{Field: store.FieldShop, Op: store.Equal, Value: Shops[0]}} {
		want := all(t, s, store.Query{Filter: filter, Limit: 2})
		if len(want) == 0 || len(want[0].Record.GetReadings()) == 0 {
			t.Fatal("wanted readings to leave out")
		}
		for i := range want {
			basic(want[i].Record)
		}
		if diff := difference(want, all(t, s, store.Query{Filter: filter, Limit: 2, Basic: true})); diff != "" {
			t.Errorf("(-want +got)\n%s", diff)
		}
	}
}

func listRefusals(t *testing.T, open opener) {
	s := open(t)
	deep := store.Expr(store.Compare{Field: store.FieldShop, Op: store.Equal, Value: "x"})
	for range store.MaxExprDepth {
		deep = store.Not{Expr: deep}
	}
	for i, q := range []store.Query{
		{},
		{Limit: -1},
		{Limit: 1, Filter: store.And{nil}},
		{Limit: 1, Filter: store.Not{}},
		{Limit: 1, Filter: deep},
		{Limit: 1, Filter: make(store.Or, store.MaxExprSize)},
		{Limit: 1, Filter: store.Compare{Field: "1=1 --", Op: store.Equal, Value: "x"}},
		{Limit: 1, Filter: store.Compare{Field: store.FieldShop, Op: store.Less, Value: "x"}},
		{Limit: 1, Filter: store.Compare{Field: store.FieldShop, Op: 99, Value: "x"}},
		{Limit: 1, Filter: store.Compare{Field: store.FieldShop, Op: store.Equal}},
		{Limit: 1, Filter: store.Compare{Field: store.FieldShop, Op: store.Equal, Value: []byte("x")}},
		{Limit: 1, Filter: store.Compare{Field: store.FieldShop, Op: store.Equal, Value: "\xff"}},
		{Limit: 1, Filter: store.Compare{Field: store.FieldModelYear, Op: store.Equal, Value: 2026}},
		{Limit: 1, Filter: store.Compare{Field: store.FieldModelYear, Op: store.HasPrefix, Value: int64(2026)}},
		{Limit: 1, Filter: store.Compare{Field: store.FieldCreateTime, Op: store.Equal, Value: time.Unix(1<<60, 0)}},
	} {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			if _, _, err := s.List(context.Background(), q); !errors.Is(err, store.ErrInvalidQuery) {
				t.Errorf("got %v, wanted ErrInvalidQuery", err)
			}
		})
	}
}
