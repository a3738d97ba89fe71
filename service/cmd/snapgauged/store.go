package main

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/postgres"
	"github.com/snapgauge/snapgauge/service/store/sqlite"
)

// openStore opens what --store names. remove is to be called after the store was
// closed: it takes away what is not meant to last. label names the store in the
// log, without what is secret about it.
func openStore(ctx context.Context, named string) (db store.DB, label string, remove func() error, err error) {
	nothing := func() error { return nil }
	if isPostgres(named) {
		pg, err := postgres.Open(ctx, named)
		if err != nil {
			return nil, "", nil, fmt.Errorf("store: %w", err)
		}
		return pg, postgresLabel(named), nothing, nil
	}
	path, remove := named, nothing
	if named == storeInMemory {
		dir, err := os.MkdirTemp("", "snapgauge-*")
		if err != nil {
			return nil, "", nil, fmt.Errorf("store: %w", err)
		}
		path, remove = filepath.Join(dir, "snapgauge.db"), func() error { return os.RemoveAll(dir) }
	}
	file, err := sqlite.Open(ctx, path)
	if err != nil {
		_ = remove() // nothing lasting is in it
		return nil, "", nil, fmt.Errorf("store: %w", err)
	}
	return file, path, remove, nil
}

// isPostgres says whether the store is a database of PostgreSQL, by its URL.
func isPostgres(named string) bool {
	return strings.HasPrefix(named, "postgres://") || strings.HasPrefix(named, "postgresql://")
}

// postgresLabel is the URL with nothing but host and database: a password may
// stand in the user's part and among the parameters.
func postgresLabel(named string) string {
	u, err := url.Parse(named)
	if err != nil {
		return "PostgreSQL"
	}
	return (&url.URL{Scheme: u.Scheme, Host: u.Host, Path: u.Path}).String()
}
