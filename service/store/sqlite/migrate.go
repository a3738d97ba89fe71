package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"

	"github.com/pressly/goose/v3"
)

// schemaVersion is the newest schema that this package knows: the number of the
// last file in migrations. Each of those files writes its own number to the
// table meta.
const schemaVersion = 2

// applicationID marks the files of this package in SQLite's header.
const applicationID = 'S'<<24 | 'N'<<16 | 'G'<<8 | 'M'

var (
	// ErrNewerSchema says that a later release has migrated the database.
	ErrNewerSchema = errors.New("database has a newer schema than this release knows")
	// ErrForeignDatabase says that the file is a database of something else.
	ErrForeignDatabase = errors.New("not a snapgauge database")
)

//go:embed migrations/*.sql
var embedded embed.FS

func migrations() fs.FS {
	sub, err := fs.Sub(embedded, "migrations")
	if err != nil {
		panic(err) // the directory is part of the binary
	}
	return sub
}

// inspect looks whether db is one that this release may open, up to schema
// version known. It writes nothing. A database without any table will do.
func inspect(ctx context.Context, db *sql.DB, known int) error {
	var objects, application int
	if err := db.QueryRowContext(ctx, `SELECT count(*) FROM sqlite_schema`).Scan(&objects); err != nil {
		return err
	}
	if objects == 0 {
		return nil
	}
	if err := db.QueryRowContext(ctx, `PRAGMA application_id`).Scan(&application); err != nil {
		return err
	}
	if application != applicationID {
		// A migration that was cut short leaves goose's table and no more.
		var others int
		err := db.QueryRowContext(ctx,
			`SELECT count(*) FROM sqlite_schema WHERE name NOT IN ('goose_db_version', 'sqlite_sequence')`).Scan(&others)
		if err != nil {
			return err
		}
		if others > 0 {
			return fmt.Errorf("%w: application id: got %#x, wanted %#x", ErrForeignDatabase, application, applicationID)
		}
		return nil
	}
	version, err := readVersion(ctx, db)
	if err != nil {
		return err
	}
	if version > known {
		return fmt.Errorf("%w: schema version: got %d, wanted at most %d; use the release that wrote it, or a later one",
			ErrNewerSchema, version, known)
	}
	return nil
}

// readVersion reads the row in meta.
func readVersion(ctx context.Context, db *sql.DB) (int, error) {
	var version int
	err := db.QueryRowContext(ctx, `SELECT schema_version FROM meta WHERE only_row = 1`).Scan(&version)
	if err != nil {
		return 0, fmt.Errorf("schema version: %w", err)
	}
	return version, nil
}

// migrate applies the files that db lacks, each in a transaction of its own, and
// checks that it ends with schema version want.
func migrate(ctx context.Context, db *sql.DB, files fs.FS, want int) error {
	provider, err := goose.NewProvider(goose.DialectSQLite3, db, files,
		goose.WithDisableGlobalRegistry(true), goose.WithLogger(goose.NopLogger()))
	if err != nil {
		return fmt.Errorf("migrations: %w", err)
	}
	if _, err := provider.Up(ctx); err != nil {
		return fmt.Errorf("migrate: %w", err)
	}
	got, err := readVersion(ctx, db)
	if err != nil {
		return err
	}
	if got != want {
		return fmt.Errorf("schema version after migration: got %d, wanted %d", got, want)
	}
	return nil
}
