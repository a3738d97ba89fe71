package postgres

import (
	"context"
	"errors"
	"fmt"
	"io"
	"testing"

	"github.com/jackc/pgx/v5/pgconn"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/postgres/pgtest"
)

func TestRetry(t *testing.T) {
	t.Parallel()
	s := new(Store)
	code := func(c string) error { return fmt.Errorf("insert: %w", &pgconn.PgError{Code: c}) }
	for name, test := range map[string]struct {
		err         error
		write, read int // attempts
	}{
		"good":          {nil, 1, 1},
		"serialization": {code("40001"), maxAttempts, maxAttempts},
		"deadlock":      {code("40P01"), maxAttempts, maxAttempts},
		"unique":        {code("23505"), 1, 1},
		"lock timeout":  {code("55P03"), 1, 1},
		"cancelled":     {code("57014"), 1, 1},
		"shutdown":      {code("57P01"), 1, maxAttempts},
		"cut off":       {io.ErrUnexpectedEOF, 1, maxAttempts},
		"not found":     {store.ErrNotFound, 1, 1},
	} {
		for kind, attempts := range map[string]int{"write": test.write, "read": test.read} {
			do := s.write
			if kind == "read" {
				do = s.read
			}
			got := 0
			err := do(context.Background(), func() error { got++; return test.err })
			if got != attempts || !errors.Is(err, test.err) {
				t.Errorf("%s, %s: got %d attempts, error %v, wanted %d", name, kind, got, err, attempts)
			}
		}
	}
	attempts := 0
	err := s.write(context.Background(), func() error {
		if attempts++; attempts < 3 {
			return code("40001")
		}
		return nil
	})
	if err != nil || attempts != 3 {
		t.Errorf("got %d attempts, error %v, wanted the third to do", attempts, err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	if err := s.write(ctx, func() error { cancel(); return code("40001") }); err != context.Canceled {
		t.Errorf("got %v, wanted context.Canceled", err)
	}
}

// TestStatementTimeout sees that the limit is one.
func TestStatementTimeout(t *testing.T) {
	t.Parallel()
	s := openAt(t, pgtest.Database(t)+" statement_timeout=50")
	_, err := s.pool.Exec(context.Background(), `SELECT pg_sleep(20)`)
	if codeOf(err) != "57014" {
		t.Errorf("got %v, wanted it cancelled", err)
	}
}
