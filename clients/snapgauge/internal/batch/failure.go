package batch

import (
	"errors"
	"io/fs"
	"os"
	"syscall"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
)

const standardInput = "standard input"
const standardOutput = "standard output"

var (
	errNoColumns       = errors.New("a table needs a column map, which says what its columns mean")
	errNeedlessColumns = errors.New("JSON Lines take no column map: their fields have names")
	errParquetStream   = errors.New("a Parquet file is read from its end, so it must be a file, and not compressed as a whole")
	errDirectory       = errors.New("this is a directory; want a file")
)

// nameError is an error about one file.
type nameError struct {
	name string
	err  error
}

// fileError puts the name of a file before an error, in words for a person.
func fileError(name string, err error) error { return &nameError{name, err} }

func (e *nameError) Error() string { return e.name + ": " + reason(e.err) }
func (e *nameError) Unwrap() error { return e.err }

// reason says why an operation of the system failed, without the chain of
// operations that led there.
func reason(err error) string {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "no such file or directory"
	case errors.Is(err, fs.ErrPermission):
		return "permission is missing"
	case errors.Is(err, os.ErrClosed):
		return "was closed"
	}
	var errno syscall.Errno
	if errors.As(err, &errno) {
		return errno.Error()
	}
	return layout.Clean(err.Error())
}

func displayName(name string) string {
	if name == "-" {
		return standardInput
	}
	return name
}
