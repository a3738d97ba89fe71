// Package oswords says in words why the operating system refused something.
package oswords

import (
	"errors"
	"io/fs"
	"os"
	"syscall"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
)

// Reason says why an operation of the system failed, without the chain of
// operations that led there.
func Reason(err error) string {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "no such file"
	case errors.Is(err, fs.ErrPermission):
		return "may not be read"
	case errors.Is(err, os.ErrDeadlineExceeded):
		return "took too long"
	case errors.Is(err, os.ErrClosed):
		return "was closed"
	}
	var errno syscall.Errno
	if errors.As(err, &errno) {
		return errno.Error()
	}
	return layout.Clean(err.Error())
}
