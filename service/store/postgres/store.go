package postgres

import (
	"context"
	"fmt"
	"sync"

	"github.com/jackc/pgx/v5/pgxpool"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/internal/wake"
)

// Store is a [store.DB] in a PostgreSQL database. Make one with [Open].
type Store struct {
	pool   *pgxpool.Pool
	hub    wake.Hub
	listen *listener

	mu     sync.RWMutex // held for writing only to set closed
	closed bool
	calls  sync.WaitGroup // calls under way; Add under mu with closed false

	closeOnce sync.Once
}

var _ store.DB = (*Store)(nil)

// Open connects to the database that dsn names, as URL or as keywords and values,
// and brings its schema up to date. ctx bounds the opening alone. Parameters in
// dsn go before this package's: pool_max_conns (16), connect_timeout (10 s),
// statement_timeout (30 s), lock_timeout (15 s), application_name. So do those of
// the environment that libpq knows, such as PGPASSWORD.
//
// It refuses with [ErrNewerSchema] or [ErrForeignDatabase] and then leaves the
// database as it was. Errors never show a password.
func Open(ctx context.Context, dsn string) (*Store, error) {
	s, err := openStore(ctx, dsn)
	if err != nil {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		return nil, fmt.Errorf("open PostgreSQL: %w", err)
	}
	return s, nil
}

func openStore(ctx context.Context, dsn string) (*Store, error) {
	cfg, err := configure(dsn)
	if err != nil {
		return nil, err
	}
	pool, err := pgxpool.NewWithConfig(ctx, cfg)
	if err != nil {
		return nil, err
	}
	if err := prepareSchema(ctx, pool); err != nil {
		pool.Close()
		return nil, err
	}
	s := &Store{pool: pool}
	s.listen = newListener(cfg.ConnConfig, &s.hub)
	return s, nil
}

// begin admits a call, or refuses it with ctx.Err() or [store.ErrClosed]. An
// admitted call ends with s.calls.Done.
func (s *Store) begin(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	s.mu.RLock()
	defer s.mu.RUnlock()
	if s.closed {
		return store.ErrClosed
	}
	s.calls.Add(1)
	return nil
}

// Ping reads the schema version from the database.
func (s *Store) Ping(ctx context.Context) error {
	if err := s.begin(ctx); err != nil {
		return err
	}
	defer s.calls.Done()
	return s.read(ctx, func() error {
		_, err := readVersion(ctx, s.pool)
		return err
	})
}

// Close waits for the calls under way and then closes every connection.
func (s *Store) Close() error {
	s.closeOnce.Do(func() {
		s.mu.Lock()
		s.closed = true
		s.mu.Unlock()
		s.hub.Close()
		s.listen.close()
		s.calls.Wait()
		s.pool.Close()
	})
	return nil
}
