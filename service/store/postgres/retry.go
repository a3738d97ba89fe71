package postgres

import (
	"context"
	"errors"
	"io"
	"math/rand/v2"
	"net"
	"strings"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
)

// SQLSTATEs, from PostgreSQL's appendix "Error Codes".
const (
	codeSerializationFailure = "40001"
	codeDeadlockDetected     = "40P01"
	codeUniqueViolation      = "23505"
	classConnection          = "08"
	classOperator            = "57P" // shutdown, crash of another session, not ready yet
)

const maxAttempts = 5

// write does f, and does it again where nothing of it can have been stored.
func (s *Store) write(ctx context.Context, f func() error) error { return retry(ctx, undone, f) }

// read does f, which changes nothing, and does it again also where a connection
// broke: the pool may still hold some from before the server's last start.
func (s *Store) read(ctx context.Context, f func() error) error {
	return retry(ctx, func(err error) bool { return undone(err) || broken(err) }, f)
}

// retry does f until it succeeds, fails in another way or has been tried often
// enough. When ctx has ended the error is ctx.Err().
func retry(ctx context.Context, again func(error) bool, f func() error) error {
	for attempt := 1; ; attempt++ {
		err := f()
		if err == nil {
			return nil
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if attempt == maxAttempts || !again(err) {
			return err
		}
		// 1, 2, 4, 8 times up to ten milliseconds.
		wait := time.NewTimer(time.Duration(rand.Int64N(int64(10*time.Millisecond) << (attempt - 1))))
		select {
		case <-wait.C:
		case <-ctx.Done():
			wait.Stop()
			return ctx.Err()
		}
	}
}

// undone says that err leaves nothing behind and may not come again.
func undone(err error) bool {
	code := codeOf(err)
	return code == codeSerializationFailure || code == codeDeadlockDetected || pgconn.SafeToRetry(err)
}

// broken says that err is about the connection.
func broken(err error) bool {
	code := codeOf(err)
	if strings.HasPrefix(code, classConnection) || strings.HasPrefix(code, classOperator) {
		return true
	}
	var network net.Error
	return errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, net.ErrClosed) || errors.As(err, &network)
}

// codeOf returns the SQLSTATE of an error of the server, else "".
func codeOf(err error) string {
	var e *pgconn.PgError
	if errors.As(err, &e) {
		return e.Code
	}
	return ""
}
