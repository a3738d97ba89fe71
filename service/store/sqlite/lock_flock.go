//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package sqlite

import (
	"context"
	"errors"
	"fmt"
	"os"
	"syscall"
	"time"
)

// lockOpening lets one process at a time open databases in a directory, so that
// two that start together do not migrate one file together. The lock is on the
// directory: it leaves no file behind, and unlike one on the database itself it
// can not meddle with SQLite's locks, which a process loses when it closes the
// file in any way. It ends with unlock or with the process.
func lockOpening(ctx context.Context, dir string) (unlock func() error, err error) {
	file, err := os.Open(dir)
	if err != nil {
		return nil, err
	}
	for wait := time.Millisecond; ; wait = min(2*wait, 50*time.Millisecond) {
		err := syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		switch {
		case err == nil:
			return file.Close, nil
		case !errors.Is(err, syscall.EWOULDBLOCK) && !errors.Is(err, syscall.EINTR):
			return nil, errors.Join(fmt.Errorf("lock %s: %w", dir, err), file.Close())
		}
		select {
		case <-time.After(wait):
		case <-ctx.Done():
			return nil, errors.Join(ctx.Err(), file.Close())
		}
	}
}
