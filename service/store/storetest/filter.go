package storetest

import (
	"context"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/snapgauge/snapgauge/service/store"
)

var filterTests = []namedTest{
	{"Table", filterTable},
	{"Largest", filterLargest},
	{"Property", filterProperty},
	{"VIN", filterVIN},
}

const filterSamples = 48

// withSamples opens a store and a Model that hold the same set-ups.
func withSamples(t *testing.T, open opener) (store.Store, *Model) {
	t.Helper()
	s, model := open(t), NewModel()
	for i := range filterSamples {
		mustSubmit(t, s, Small(i))
		mustSubmit(t, model, Small(i))
	}
	return s, model
}

// One machine's records are found however its VIN was written.
func filterVIN(t *testing.T, open opener) {
	s := open(t)
	odd := Small(1)
	plain := odd.Record.GetUnit().GetVin()
	odd.Record.Unit.Vin = strings.ToLower(plain[:4]) + " " + plain[4:9] + "-" + plain[9:]
	mustSubmit(t, s, odd)
	got, _, err := s.List(t.Context(), store.Query{Filter: store.Compare{Field: store.FieldVIN, Op: store.Equal, Value: plain}, Limit: 10})
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 1 || got[0].Record.GetUnit().GetVin() != odd.Record.GetUnit().GetVin() {
		t.Errorf("got %d set-ups, want the one, with its VIN as it was written", len(got))
	}
}

func filterTable(t *testing.T, open opener) {
	s, _ := withSamples(t, open)
	is := func(f store.Field, v any) store.Expr { return store.Compare{Field: f, Op: store.Equal, Value: v} }
	by := func(f store.Field, op store.Op, v any) store.Expr { return store.Compare{Field: f, Op: op, Value: v} }
	tenth := Small(10).CreateTime
	for _, test := range []struct {
		name   string
		filter store.Expr
		want   int
	}{
		{"all", nil, 48},
		{"shop", is(store.FieldShop, "ridge-cycles"), 16},
		{"no such shop", is(store.FieldShop, "nowhere"), 0},
		{"case counts", is(store.FieldShop, "Ridge-Cycles"), 0},
		{"no pattern", is(store.FieldShop, "ridge%"), 0},
		{"no injection", is(store.FieldShop, "' OR 1=1 --"), 0},
		{"technician", is(store.FieldTechnician, "j.öberg"), 12},
		{"vin", is(store.FieldVIN, "0VSLR25E2T000012"), 1},
		{"vin by prefix", by(store.FieldVIN, store.HasPrefix, "0VS"), 24},
		{"vin by empty prefix", by(store.FieldVIN, store.HasPrefix, ""), 48},
		{"prefix, last letter beyond ASCII", by(store.FieldTechnician, store.HasPrefix, "j.ö"), 12},
		{"prefix of the greatest character", by(store.FieldTechnician, store.HasPrefix, "\U0010FFFF"), 0},
		{"prefix before the surrogates", by(store.FieldTechnician, store.HasPrefix, "\uD7FF"), 0},
		{"model", is(store.FieldModel, "Tarn 450"), 12},
		{"model year", is(store.FieldModelYear, int64(2026)), 12},
		{"model year from", by(store.FieldModelYear, store.GreaterEqual, int64(2026)), 24},
		{"model year after", by(store.FieldModelYear, store.Greater, int64(2026)), 12},
		{"market", is(store.FieldMarket, "JP"), 16},
		{"phase", is(store.FieldPhase, "PRE_DELIVERY"), 12},
		{"verdict", is(store.FieldVerdict, "REJECT"), 12},
		{"not verdict", by(store.FieldVerdict, store.NotEqual, "REJECT"), 36},
		{"spec revision", is(store.FieldSpecRevision, "specs/larkspur-250-r-2026-eu/revisions/2"), 16},
		{"created at", is(store.FieldCreateTime, tenth), 1},
		{"created at, to the microsecond", is(store.FieldCreateTime, tenth.Add(999)), 1},
		{"created a microsecond later", is(store.FieldCreateTime, tenth.Add(time.Microsecond)), 0},
		{"created before", by(store.FieldCreateTime, store.Less, tenth), 10},
		{"created until", by(store.FieldCreateTime, store.LessEqual, tenth), 11},
		{"created after, in another zone", by(store.FieldCreateTime, store.Greater, tenth.In(time.FixedZone("", 7200))), 37},
		{"finished from", by(store.FieldFinishTime, store.GreaterEqual, Small(40).Record.FinishTime.AsTime()), 8},
		{"and", store.And{is(store.FieldShop, "ridge-cycles"), is(store.FieldVerdict, "REJECT")}, 4},
		{"or", store.Or{is(store.FieldVerdict, "ACCEPT"), is(store.FieldVerdict, "REJECT")}, 24},
		{"not", store.Not{Expr: is(store.FieldShop, "ridge-cycles")}, 32},
		{"empty and", store.And{}, 48},
		{"empty or", store.Or{}, 0},
		{"not empty or", store.Not{Expr: store.Or{}}, 48},
		{"nested", store.And{
			store.Or{is(store.FieldPhase, "HANDOVER"), is(store.FieldPhase, "SERVICE")},
			store.Not{Expr: store.And{is(store.FieldVerdict, "ACCEPT"), by(store.FieldVIN, store.HasPrefix, "1")}},
		}, 18},
	} {
		t.Run(test.name, func(t *testing.T) {
			got := all(t, s, store.Query{Filter: test.filter, Limit: 20})
			if len(got) != test.want {
				t.Errorf("got %d setups, wanted %d", len(got), test.want)
			}
			for _, setup := range got {
				if !store.Match(test.filter, setup) {
					t.Errorf("%s does not match", setup.ID)
				}
			}
		})
	}
}

// filterLargest asks with the largest filters that are allowed.
func filterLargest(t *testing.T, open opener) {
	s, _ := withSamples(t, open)
	is := store.Compare{Field: store.FieldVIN, Op: store.HasPrefix, Value: "0VS"}
	var wideAnd store.And
	var wideOr store.Or
	for range store.MaxExprSize - 1 {
		wideAnd, wideOr = append(wideAnd, is), append(wideOr, is)
	}
	deep := store.Expr(is)
	for i := range store.MaxExprDepth - 1 {
		if i%2 == 0 {
			deep = store.And{deep}
		} else {
			deep = store.Or{deep}
		}
	}
	for _, filter := range []store.Expr{wideAnd, wideOr, deep} {
		page, _, err := s.List(context.Background(), store.Query{Filter: filter, Limit: 100})
		if err != nil || len(page) != 24 {
			t.Errorf("%T: got %d setups, error %v, wanted 24", filter, len(page), err)
		}
	}
}

// filterProperty compares the store with the Model over random filters.
func filterProperty(t *testing.T, open opener) {
	s, model := withSamples(t, open)
	rapid.Check(t, func(t *rapid.T) {
		q := store.Query{
			Filter: genExpr(3).Draw(t, "filter"),
			Limit:  rapid.IntRange(1, filterSamples+1).Draw(t, "limit"),
			Basic:  rapid.Bool().Draw(t, "basic"),
		}
		if err := store.CheckExpr(q.Filter); err != nil {
			t.Fatalf("the generator makes bad filters: %v", err)
		}
		if diff := difference(all(t, model, q), all(t, s, q)); diff != "" {
			t.Fatalf("%s: (-model +store)\n%s", store.Canonical(q.Filter), diff)
		}
	})
}

// genExpr makes filters that choose some of the samples.
func genExpr(depth int) *rapid.Generator[store.Expr] {
	return rapid.Custom(func(t *rapid.T) store.Expr {
		shape := 0
		if depth > 0 {
			shape = rapid.IntRange(0, 4).Draw(t, "shape")
		}
		switch shape {
		case 2:
			return store.And(rapid.SliceOfN(genExpr(depth-1), 0, 3).Draw(t, "and"))
		case 3:
			return store.Or(rapid.SliceOfN(genExpr(depth-1), 0, 3).Draw(t, "or"))
		case 4:
			return store.Not{Expr: genExpr(depth-1).Draw(t, "not")}
		}
		return genCompare(t)
	})
}

func genCompare(t *rapid.T) store.Compare {
	var (
		c      = store.Compare{Field: rapid.SampledFrom(store.Fields()).Draw(t, "field")}
		sample = Small(rapid.IntRange(0, filterSamples).Draw(t, "value of"))
		off    = rapid.IntRange(-1, 1).Draw(t, "off by")
		texts  = map[store.Field]string{
			store.FieldShop:         sample.Shop,
			store.FieldTechnician:   sample.Record.GetTechnician(),
			store.FieldVIN:          sample.Record.GetUnit().GetVin(),
			store.FieldModel:        sample.Record.GetUnit().GetModel(),
			store.FieldMarket:       sample.Record.GetUnit().GetMarket(),
			store.FieldPhase:        store.PhaseName(sample.Record.GetPhase()),
			store.FieldVerdict:      store.VerdictName(sample.Report.GetVerdict()),
			store.FieldSpecRevision: sample.Report.GetSpecRevision(),
		}
	)
	kind, _ := c.Field.Kind()
	var ops []store.Op
	for op := store.Equal; op <= store.HasPrefix; op++ {
		if op.Applies(kind) {
			ops = append(ops, op)
		}
	}
	c.Op = rapid.SampledFrom(ops).Draw(t, "op")
	switch {
	case kind == store.KindInt:
		c.Value = int64(sample.Record.GetUnit().GetModelYear()) + int64(off)
	case c.Field == store.FieldCreateTime:
		c.Value = sample.CreateTime.Add(time.Duration(off))
	case c.Field == store.FieldFinishTime:
		c.Value = sample.Record.GetFinishTime().AsTime().Add(time.Duration(off) * time.Microsecond)
	case c.Op == store.HasPrefix:
		runes := []rune(texts[c.Field])
		c.Value = string(runes[:rapid.IntRange(0, len(runes)).Draw(t, "prefix")])
	default:
		c.Value = texts[c.Field]
	}
	return c
}
