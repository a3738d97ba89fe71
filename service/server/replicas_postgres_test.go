//go:build unix

package server

import (
	"os"
	"testing"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/postgres"
	"github.com/snapgauge/snapgauge/service/store/postgres/pgtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Run(m)) }

// Two servers over one PostgreSQL database, which tells each of the other's
// changes.
func TestTwoReplicasOverPostgreSQL(t *testing.T) {
	dsn := pgtest.Database(t)
	testReplicas(t, func() store.DB { return openDatabase(t, dsn) })
}

// openDatabase opens a store for as long as the test lasts.
func openDatabase(t testing.TB, dsn string) store.DB {
	t.Helper()
	db, err := postgres.Open(t.Context(), dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	return db
}
