package batch

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync/atomic"

	"github.com/parquet-go/parquet-go"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch/columns"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch/delimited"
)

const (
	// rowsAtOnce is how many rows of a Parquet file are asked for at once.
	rowsAtOnce = 64
	// mostFooter is how large the description of a Parquet file may be, which is
	// held whole: that of millions of pages is smaller.
	mostFooter = 64 << 20
)

// parquetFile is an open Parquet file. Its row groups are read page by page.
type parquetFile struct {
	name string
	*os.File
	size   int64
	parsed *parquet.File
	taken  atomic.Int64 // rows that were
}

func openParquet(name string, m *columns.Map) (Source, error) {
	p, err := newParquetFile(name)
	if err != nil {
		return nil, err
	}
	var s Source
	if m == nil {
		s, err = newParquetRecords(p)
	} else {
		s, err = newParquetTable(p, m)
	}
	if err != nil {
		_ = p.Close() // only read from
		return nil, err
	}
	return s, nil
}

func newParquetFile(name string) (*parquetFile, error) {
	file, err := os.Open(name)
	if err != nil {
		return nil, fileError(name, err)
	}
	p := &parquetFile{name: name, File: file}
	if err := p.parse(); err != nil {
		_ = file.Close() // only read from
		return nil, fileError(name, err)
	}
	return p, nil
}

var (
	errNotParquet = errors.New("this is not a whole Parquet file")
	errMoreRows   = errors.New("the file is damaged: it has more rows than it says")
)

func (p *parquetFile) parse() error {
	info, err := p.Stat()
	switch {
	case err != nil:
		return err
	case info.IsDir():
		return errDirectory
	case !info.Mode().IsRegular():
		return errParquetStream
	}
	p.size = info.Size()
	var end [8]byte
	if _, err := p.ReadAt(end[:], max(p.size-8, 0)); err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	footer := int64(binary.LittleEndian.Uint32(end[:4]))
	switch {
	case p.size < 12 || string(end[4:]) != "PAR1" || footer > p.size-12:
		return errNotParquet
	case footer > mostFooter:
		return fmt.Errorf("its description has %d MiB, want at most %d", footer>>20, mostFooter>>20)
	}
	return guard(func() error {
		p.parsed, err = parquet.OpenFile(p.File, p.size, parquet.SkipPageIndex(true), parquet.SkipBloomFilters(true))
		if err != nil {
			return err
		}
		if n := len(p.parsed.Schema().Columns()); n > delimited.MostCells {
			return fmt.Errorf("has %d columns, want at most %d", n, delimited.MostCells)
		}
		return nil
	})
}

// guard calls what reads a Parquet file. The library checks much, not all, of
// what a file says of itself; where it breaks on one, that is only a file that
// cannot be read.
func guard(do func() error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("the file is damaged: %v", r)
		}
	}()
	return do()
}

// ended says what the end of the rows means: io.EOF when there were as many as
// the file says that it has.
func (p *parquetFile) ended() error {
	if got, want := p.taken.Load(), p.parsed.NumRows(); got != want {
		return fmt.Errorf("the file is damaged: it ends after row %d of %d", got, want)
	}
	return io.EOF
}

// Progress takes all rows for equally long.
func (p *parquetFile) Progress() (done, total int64) {
	rows := p.parsed.NumRows()
	if rows <= 0 {
		return p.size, p.size
	}
	return int64(float64(p.size) * min(1, float64(p.taken.Load())/float64(rows))), p.size
}

// title is the name of a column: that of its path for one within a group.
func title(path []string) string { return strings.Join(path, ".") }
