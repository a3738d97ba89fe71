package postgres

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/postgres/pgtest"
)

// rawPool connects without anything of this package.
func rawPool(t testing.TB, dsn string) *pgxpool.Pool {
	t.Helper()
	pool, err := pgxpool.New(context.Background(), dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(pool.Close)
	return pool
}

// TestPlans sees that the common lists are read from an index in their order, in
// a table large enough for that to be worth it.
func TestPlans(t *testing.T) {
	t.Parallel()
	s := openAt(t, pgtest.Database(t))
	ctx := context.Background()
	// Each value is that of one row in 500.
	_, err := s.pool.Exec(ctx, `INSERT INTO setups SELECT 'id-' || n, 'request-' || n, 'shop-' || n % 500, n, 'jo', 'vin-' || n % 500, 'Tarn', 2026,
		'EU', 'HANDOVER', 'V' || n / 7 % 500, 'specs/s-' || n % 500 / 5 || '/revisions/' || n % 5, n, sha256('x'), 'x', 'x'
		FROM generate_series(1, 20000) n`)
	if err != nil {
		t.Fatal(err)
	}
	conn, err := s.pool.Acquire(ctx)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Release()
	if _, err := conn.Exec(ctx, `ANALYZE`); err != nil {
		t.Fatal(err)
	}
	is := func(f store.Field, v any) store.Expr { return store.Compare{Field: f, Op: store.Equal, Value: v} }
	shop, verdict := is(store.FieldShop, "shop-7"), is(store.FieldVerdict, "V1")
	for _, test := range []struct {
		name   string
		filter store.Expr
		index  string
	}{
		{"all", nil, "setups_by_time"},
		{"shop", shop, "setups_by_shop"},
		{"verdict", verdict, "setups_by_verdict"},
		{"vin", is(store.FieldVIN, "vin-7"), "setups_by_vin"},
		{"shop and verdict", store.And{shop, verdict}, "setups_by_shop_verdict"},
		{"spec revision", store.JudgedBy("s-7", 2), "setups_by_spec_revision"},
		{"all revisions of a spec", store.JudgedBy("s-7", 0), "setups_by_spec"},
	} {
		for _, after := range []store.Cursor{{}, store.CursorAfter(time.UnixMicro(19_000), "zz")} {
			text, args := listQuery(store.Query{Filter: test.filter, After: after, Limit: 10})
			rows, err := conn.Query(ctx, "EXPLAIN "+text, args...)
			if err != nil {
				t.Fatal(err)
			}
			lines, err := pgx.CollectRows(rows, pgx.RowTo[string])
			if err != nil {
				t.Fatal(err)
			}
			plan := strings.Join(lines, "\n")
			if !strings.Contains(plan, "Index Scan Backward using "+test.index+" ") || strings.Contains(plan, "Sort") {
				t.Errorf("%s: wanted index %s and no sorting:\n%s", test.name, test.index, plan)
			}
		}
	}
}
