package postgres

import (
	"context"
	"fmt"
	"os"
	"sync"
	"testing"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/postgres/pgtest"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

func TestMain(m *testing.M) {
	if dsn := os.Getenv(crashDSNVariable); dsn != "" {
		fmt.Fprintln(os.Stderr, crashHelper(dsn))
		os.Exit(1)
	}
	os.Exit(pgtest.Run(m))
}

// databases gives each test one database, however often it opens it.
type databases struct {
	mu     sync.Mutex
	byName map[string]string
}

func (d *databases) of(t *testing.T) string {
	t.Helper()
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.byName == nil {
		d.byName = make(map[string]string)
	}
	if d.byName[t.Name()] == "" {
		d.byName[t.Name()] = pgtest.Database(t)
	}
	return d.byName[t.Name()]
}

func TestConformance(t *testing.T) {
	t.Parallel()
	var all databases
	storetest.Run(t, func(t *testing.T) store.Store { return openAt(t, all.of(t)) })
}

func TestSpecConformance(t *testing.T) {
	t.Parallel()
	var all databases
	storetest.RunSpecs(t, func(t *testing.T) store.DB { return openAt(t, all.of(t)) })
}

// openAt opens a store and closes it when the test ends, if not before.
func openAt(t testing.TB, dsn string) *Store {
	t.Helper()
	s, err := Open(context.Background(), dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Errorf("Close: %v", err)
		}
	})
	return s
}
