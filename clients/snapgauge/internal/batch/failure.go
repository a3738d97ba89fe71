package batch

import (
	"errors"
	"io/fs"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/oswords"
)

const standardInput = "standard input"
const standardOutput = "standard output"

// ErrNoColumns is that of a table without a column map.
var ErrNoColumns = errors.New("a table needs a column map, which says what its columns mean")

var (
	errParquetStream = errors.New("a Parquet file is read from its end, so it must be a file, and not compressed as a whole")
	errDirectory     = errors.New("this is a directory; want a file")
)

// nameError is an error about one file.
type nameError struct {
	name, why string
	err       error
}

// fileError puts the name of a file before an error, in words for a person.
func fileError(name string, err error) error { return &nameError{name, oswords.Reason(err), err} }

// outputError is [fileError] of a file that is written. An error that names its
// file already stays as it is.
func outputError(name string, err error) error {
	if named := (*nameError)(nil); errors.As(err, &named) {
		return named
	}
	why := oswords.Reason(err)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		why = "there is no such directory"
	case errors.Is(err, fs.ErrPermission):
		why = "may not be written"
	}
	return &nameError{name, why, err}
}

func (e *nameError) Error() string { return e.name + ": " + e.why }
func (e *nameError) Unwrap() error { return e.err }

func displayName(name string) string {
	if name == "-" {
		return standardInput
	}
	return name
}
