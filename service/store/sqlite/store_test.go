package sqlite

import (
	"context"
	"path/filepath"
	"strings"
	"testing"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

func TestConformance(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	storetest.Run(t, func(t *testing.T) store.Store {
		return openAt(t, filepath.Join(dir, strings.ReplaceAll(t.Name(), "/", "-")+".db"))
	})
}

// openAt opens a store and closes it when the test ends, if not before.
func openAt(t testing.TB, path string) *Store {
	t.Helper()
	s, err := Open(context.Background(), path)
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

func TestSpecConformance(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	storetest.RunSpecs(t, func(t *testing.T) store.DB {
		return openAt(t, filepath.Join(dir, strings.ReplaceAll(t.Name(), "/", "-")+".db"))
	})
}
