package postgres

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
)

// schemaVersion is the newest schema that this package knows: the number of the
// last file in migrations. Each of those files writes its own number to the
// table snapgauge_meta. The numbers are not those of other databases.
const schemaVersion = 1

// Keys of advisory locks, which are the database's: "snapgaug" and what for.
const (
	migrationLock = 0x736e_6170_6761_0001
	specLock      = 0x736e_6170_6761_0002
)

var (
	// ErrNewerSchema says that a later release has migrated the database.
	ErrNewerSchema = errors.New("database has a newer schema than this release knows")
	// ErrForeignDatabase says that the tables are those of something else.
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

// prepareSchema brings the schema up to date, or refuses the database.
func prepareSchema(ctx context.Context, pool *pgxpool.Pool) error {
	version, err := inspect(ctx, pool, schemaVersion)
	if err != nil || version == schemaVersion {
		return err
	}
	return migrate(ctx, pool.Config().ConnConfig, migrations(), schemaVersion)
}

// querier is a pool or a connection.
type querier interface {
	QueryRow(ctx context.Context, text string, args ...any) pgx.Row
}

// inspect returns the schema version of a database that this release may open,
// up to version known; nought for one that has no tables yet. It writes nothing.
func inspect(ctx context.Context, db querier, known int) (version int, err error) {
	var meta, others bool
	err = db.QueryRow(ctx, `SELECT to_regclass('snapgauge_meta') IS NOT NULL,
		to_regclass('setups') IS NOT NULL OR to_regclass('spec_revisions') IS NOT NULL`).Scan(&meta, &others)
	switch {
	case err != nil:
		return 0, err
	case !meta && others:
		return 0, fmt.Errorf("%w: it has our tables' names without the table snapgauge_meta", ErrForeignDatabase)
	case !meta:
		return 0, nil
	}
	if version, err = readVersion(ctx, db); err != nil {
		return 0, err
	}
	if version > known {
		return 0, fmt.Errorf("%w: schema version: got %d, wanted at most %d; use the release that wrote it, or a later one",
			ErrNewerSchema, version, known)
	}
	return version, nil
}

// readVersion reads the row in snapgauge_meta.
func readVersion(ctx context.Context, db querier) (int, error) {
	var version int
	if err := db.QueryRow(ctx, `SELECT schema_version FROM snapgauge_meta`).Scan(&version); err != nil {
		return 0, fmt.Errorf("schema version: %w", err)
	}
	return version, nil
}

// migrate applies the files that the database lacks, each in a transaction of its
// own, and checks that it ends with schema version want.
func migrate(ctx context.Context, cfg *pgx.ConnConfig, files fs.FS, want int) (err error) {
	db := stdlib.OpenDB(*withoutLimits(cfg))
	defer func() { err = errors.Join(err, db.Close()) }()
	provider, err := goose.NewProvider(goose.DialectPostgres, db, files,
		goose.WithTableName("snapgauge_migrations"), goose.WithSessionLocker(advisoryLock{}),
		goose.WithDisableGlobalRegistry(true), goose.WithLogger(goose.NopLogger()))
	if err != nil {
		return fmt.Errorf("migrations: %w", err)
	}
	if _, err := provider.Up(ctx); err != nil {
		return fmt.Errorf("migrate: %w", err)
	}
	var got int
	if err := db.QueryRowContext(ctx, `SELECT schema_version FROM snapgauge_meta`).Scan(&got); err != nil {
		return fmt.Errorf("schema version: %w", err)
	}
	if got != want {
		return fmt.Errorf("schema version after migration: got %d, wanted %d", got, want)
	}
	return nil
}

// advisoryLock keeps migrations of several processes apart: each waits until the
// one before has done everything, and then finds nothing to do.
type advisoryLock struct{}

func (advisoryLock) SessionLock(ctx context.Context, conn *sql.Conn) error {
	_, err := conn.ExecContext(ctx, `SELECT pg_advisory_lock($1)`, int64(migrationLock))
	return err
}

func (advisoryLock) SessionUnlock(ctx context.Context, conn *sql.Conn) error {
	_, err := conn.ExecContext(ctx, `SELECT pg_advisory_unlock($1)`, int64(migrationLock))
	return err
}
