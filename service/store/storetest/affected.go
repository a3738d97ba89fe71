package storetest

import (
	"testing"

	"github.com/snapgauge/snapgauge/service/store"
)

var affectedTests = []namedSpecTest{
	{"JudgedBy", affectedJudgedBy},
}

// affectedJudgedBy pages through the set-ups of a spec, whose name begins that
// of another.
func affectedJudgedBy(t *testing.T, open specOpener) {
	s := open(t)
	want := make(map[string]int)
	for i := range 60 {
		setup := Sample(i)
		id := []string{"tarn-450", "tarn-450-2026-eu", "tarn-4"}[i%3]
		revision := 1 + i/3%12
		setup.Report.SpecRevision = store.RevisionName(id, revision)
		mustSubmit(t, s, setup)
		want[id]++
		want[setup.Report.SpecRevision]++
	}
	count := func(e store.Expr) int {
		t.Helper()
		setups := all(t, s, store.Query{Filter: e, Limit: 7})
		for i, setup := range setups {
			if !store.Match(e, setup) || len(setup.Record.GetReadings()) != 64 {
				t.Errorf("%s does not match, or lacks readings", setup.ID)
			}
			if i > 0 && newestFirst(setups[i-1], setup) >= 0 {
				t.Errorf("%s is out of order", setup.ID)
			}
		}
		return len(setups)
	}
	for _, id := range []string{"tarn-450", "tarn-450-2026-eu", "tarn-4", "tarn"} {
		if got := count(store.JudgedBy(id, 0)); got != want[id] {
			t.Errorf("%s: got %d, wanted %d", id, got, want[id])
		}
		for revision := 1; revision <= 12; revision++ {
			if got := count(store.JudgedBy(id, revision)); got != want[store.RevisionName(id, revision)] {
				t.Errorf("%s: got %d, wanted %d", store.RevisionName(id, revision), got, want[store.RevisionName(id, revision)])
			}
		}
	}
	// Beside other conditions, and under a Not.
	shop := store.Compare{Field: store.FieldShop, Op: store.Equal, Value: Shops[0]}
	if got := count(store.And{shop, store.JudgedBy("tarn-450", 0)}); got != 20 {
		t.Errorf("in a shop: got %d, wanted 20", got)
	}
	if got := count(store.Not{Expr: store.JudgedBy("tarn-450", 0)}); got != 40 {
		t.Errorf("not: got %d, wanted 40", got)
	}
}
