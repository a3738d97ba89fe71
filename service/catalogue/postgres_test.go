//go:build unix

package catalogue

import (
	"context"
	"os"
	"testing"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/postgres"
	"github.com/snapgauge/snapgauge/service/store/postgres/pgtest"
)

func TestMain(m *testing.M) {
	serverPairs = map[string]func(t *testing.T) (a, b store.SpecStore){
		"PostgreSQL": func(t *testing.T) (a, b store.SpecStore) {
			dsn := pgtest.Database(t)
			var pair [2]*postgres.Store
			for i := range pair {
				s, err := postgres.Open(context.Background(), dsn)
				if err != nil {
					t.Fatal(err)
				}
				t.Cleanup(func() { _ = s.Close() })
				pair[i] = s
			}
			return pair[0], pair[1]
		},
	}
	os.Exit(pgtest.Run(m))
}
