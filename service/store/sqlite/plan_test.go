package sqlite

import (
	"context"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

// TestPlans sees that the common lists are read from an index in their order,
// first page and later ones, in an empty database and in a filled one.
func TestPlans(t *testing.T) {
	t.Parallel()
	s := openAt(t, filepath.Join(t.TempDir(), "test.db"))
	is := func(f store.Field, v any) store.Expr { return store.Compare{Field: f, Op: store.Equal, Value: v} }
	shop, verdict := is(store.FieldShop, "ridge-cycles"), is(store.FieldVerdict, "REJECT")
	vin := is(store.FieldVIN, "0VSLR25E2T000012")
	since := store.Compare{Field: store.FieldCreateTime, Op: store.GreaterEqual, Value: storetest.Base}
	check := func(t *testing.T) {
		for _, test := range []struct {
			name   string
			filter store.Expr
			index  string
			sorted bool // has to sort what it found
		}{
			{"all", nil, "setups_by_time", false},
			{"shop", shop, "setups_by_shop", false},
			{"verdict", verdict, "setups_by_verdict", false},
			{"vin", vin, "setups_by_vin", false},
			{"shop and verdict", store.And{shop, verdict}, "setups_by_shop_verdict", false},
			{"shop since", store.And{shop, since}, "setups_by_shop", false},
			{"since", since, "setups_by_time", false},
			{"spec revision", store.JudgedBy("larkspur-250-r-2026-eu", 2), "setups_by_spec_revision", false},
			{"all revisions of a spec", store.JudgedBy("larkspur-250-r-2026-eu", 0), "setups_by_spec", false},
			{"vins by prefix", store.Compare{Field: store.FieldVIN, Op: store.HasPrefix, Value: "0VSLR25E2T"}, "setups_by_vin", true},
		} {
			for _, after := range []store.Cursor{{}, store.CursorAfter(time.Unix(2e9, 0), "zz")} {
				text, args := listQuery(store.Query{Filter: test.filter, After: after, Limit: 50})
				plan := explain(t, s, text, args)
				if !strings.Contains(plan, "s USING INDEX "+test.index+" ") && !strings.HasSuffix(plan, "s USING INDEX "+test.index) &&
					!strings.Contains(plan, "s USING INDEX "+test.index+"\n") {
					t.Errorf("%s: wanted index %s:\n%s", test.name, test.index, plan)
				}
				if sorted := strings.Contains(plan, "TEMP B-TREE"); sorted != test.sorted {
					t.Errorf("%s: got sorting %t, wanted %t:\n%s", test.name, sorted, test.sorted, plan)
				}
			}
		}
	}
	t.Run("empty", check)
	for i := range 300 {
		if _, _, err := s.Submit(context.Background(), storetest.Small(i)); err != nil {
			t.Fatal(err)
		}
	}
	t.Run("filled", check)
}

func explain(t *testing.T, s *Store, text string, args []any) string {
	t.Helper()
	rows, err := s.readers.Query("EXPLAIN QUERY PLAN "+text, args...)
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	defer rows.Close()
	var lines []string
	for rows.Next() {
		var id, parent, unused int
		var detail string
		if err := rows.Scan(&id, &parent, &unused, &detail); err != nil {
			t.Fatal(err)
		}
		lines = append(lines, detail)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return strings.Join(lines, "\n")
}
