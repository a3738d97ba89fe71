package batch

import (
	"cmp"
	"io"
	"os"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch/columns"
)

// Options say how to read a file.
type Options struct {
	// Format is one of [Formats]; empty means that the name of the file says it.
	Format string
	// Columns say what the columns of a table mean. A CSV file needs them; a
	// Parquet file without them has the columns that this package documents. JSON
	// Lines are no table and do without, so that one audit may have files of both.
	Columns *columns.Map
}

// Source gives the records of a file one after another, in its order, holding
// no more of the file than it must for the next.
//
// One goroutine at a time may use it, but for Progress, which any may call at any
// time.
type Source interface {
	// Next returns the next record, or what stands in the place of one that cannot
	// be read. At the end it returns io.EOF; any other error means that nothing
	// more can be read from this file, names it, and is returned from then on.
	Next() (Item, error)
	// Progress tells how many bytes of the file are read, compressed as they are,
	// and how many there are; total is nought where that is not known.
	Progress() (done, total int64)
	// Close lets go of the file. Standard input is left open.
	Close() error
}

// Open begins to read the file of this name, or in where the name is "-".
//
// The error names the file. A column map that does not fit is told as
// document.Errors, with the places in the map.
func Open(name string, in io.Reader, opt Options) (Source, error) {
	shown := displayName(name)
	f, packed, err := formatOf(name, opt.Format)
	if err != nil {
		return nil, fileError(shown, cmp.Or(notThere(name), err))
	}
	if f == formatCSV && opt.Columns == nil {
		return nil, fileError(shown, cmp.Or(notThere(name), ErrNoColumns))
	}
	if f == formatParquet {
		if name == "-" || packed != packingNone {
			return nil, fileError(shown, errParquetStream)
		}
		return openParquet(name, opt.Columns)
	}
	s, err := openStream(name, in, packed)
	if err != nil {
		return nil, err
	}
	if f == formatJSONLines {
		return newJSONLines(s), nil
	}
	table, err := newTable(s, opt.Columns)
	if err != nil {
		_ = s.Close() // only read from
		return nil, err
	}
	return table, nil
}

// notThere says that there is no file of this name. It goes before what else is
// wrong with the name: that is of no use to who mistyped it.
func notThere(name string) error {
	if name == "-" {
		return nil
	}
	info, err := os.Stat(name)
	if err == nil && info.IsDir() {
		return errDirectory
	}
	return err
}
