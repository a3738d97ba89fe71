package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"sync"

	"github.com/snapgauge/snapgauge/service/store"
)

// Store is a [store.DB] in one SQLite file. Make one with [Open].
type Store struct {
	readers *sql.DB
	writer  *writer

	mu     sync.RWMutex // held for writing only to set closed
	closed bool
	calls  sync.WaitGroup // calls under way; Add under mu with closed false

	closeOnce sync.Once
	closeErr  error
}

var _ store.DB = (*Store)(nil)

// Open opens the database file at path, makes it where there is none (its
// directory must exist) and brings its schema up to date. ctx bounds the opening
// alone.
//
// It refuses with [ErrNewerSchema] or [ErrForeignDatabase] and then leaves the
// file as it was. Several processes may open one file, even together and with an
// old schema: one migrates, the others wait for it. Then they wait for each
// other's commits for up to five seconds.
func Open(ctx context.Context, path string) (*Store, error) {
	s, err := openStore(ctx, path)
	if err != nil {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		return nil, fmt.Errorf("open %s: %w", path, err)
	}
	return s, nil
}

func openStore(ctx context.Context, path string) (_ *Store, err error) {
	if path == "" || path == ":memory:" {
		return nil, errors.New("wanted the path of a file")
	}
	if path, err = filepath.Abs(path); err != nil {
		return nil, err
	}
	unlock, err := lockOpening(ctx, filepath.Dir(path))
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, unlock()) }()
	// SQLite gives its side files the mode of the database. A file that is there
	// is left alone: closing it would end the locks of a Store in this process
	// that has it open.
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	switch {
	case err == nil:
		if err := file.Close(); err != nil {
			return nil, err
		}
	case !errors.Is(err, fs.ErrExist):
		return nil, err
	}

	probe, err := open(path, toInspect, 1)
	if err != nil {
		return nil, err
	}
	err = inspect(ctx, probe, schemaVersion)
	if err := errors.Join(err, probe.Close()); err != nil {
		return nil, err
	}

	db, err := open(path, toWrite, 1)
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, db.Close())
		}
	}()
	if err := migrate(ctx, db, migrations(), schemaVersion); err != nil {
		return nil, err
	}
	readers, err := open(path, toRead, max(4, 2*runtime.GOMAXPROCS(0)))
	if err != nil {
		return nil, err
	}
	w, err := newWriter(ctx, db)
	if err != nil {
		return nil, errors.Join(err, readers.Close())
	}
	return &Store{readers: readers, writer: w}, nil
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

// Ping reads the schema version from the file.
func (s *Store) Ping(ctx context.Context) error {
	if err := s.begin(ctx); err != nil {
		return err
	}
	defer s.calls.Done()
	_, err := readVersion(ctx, s.readers)
	return orContext(ctx, err)
}

// Close waits for the calls under way, so that every submit that was admitted
// has been committed and answered, and moves the log into the database file.
func (s *Store) Close() error {
	s.closeOnce.Do(func() {
		s.mu.Lock()
		s.closed = true
		s.mu.Unlock()
		s.writer.hub.Close()
		s.calls.Wait()
		// The last connection to close moves the log, and must be able to write.
		s.closeErr = errors.Join(s.readers.Close(), s.writer.close())
	})
	return s.closeErr
}

// orContext returns ctx.Err() in place of the error that a query ends with when
// its context does.
func orContext(ctx context.Context, err error) error {
	if err != nil && ctx.Err() != nil {
		return ctx.Err()
	}
	return err
}
