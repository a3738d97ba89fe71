//go:build !(darwin || dragonfly || freebsd || linux || netbsd || openbsd)

package sqlite

import "context"

// lockOpening does nothing where directories can not be locked: two processes
// must not open a database together there while its schema is behind.
func lockOpening(context.Context, string) (unlock func() error, err error) {
	return func() error { return nil }, nil
}
