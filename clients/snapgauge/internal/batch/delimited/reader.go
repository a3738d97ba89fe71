package delimited

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
)

const (
	// MostBytes is how long a row may be.
	MostBytes = 1 << 20
	// MostCells is how many cells a row may have: as many as the columns of any
	// usual spreadsheet.
	MostCells = 1 << 14
)

// Separators are those that tables are written with, the usual one first.
const Separators = ",;\t"

// RowError is what is wrong with one row. The rows after it can be read.
type RowError struct {
	// Line on which the row begins, from 1.
	Line int64
	// Cell that is wrong, from 0; negative where it is the row.
	Cell int
	// Message says what was found.
	Message string
}

func (e *RowError) Error() string {
	if e.Cell < 0 {
		return fmt.Sprintf("line %d: %s", e.Line, e.Message)
	}
	return fmt.Sprintf("line %d, cell %d: %s", e.Line, e.Cell+1, e.Message)
}

// Reader reads rows one after another.
type Reader struct {
	in        *bufio.Reader
	separator byte

	line    int64  // the last one that was taken
	back    []byte // lines that are to be taken again, before those of in
	skipped bool   // a line that is too long stands after those
	ended   error  // what came of reading the last time

	row   []byte // the lines of the row, as they are
	text  []byte // its cells without quotes, one after another
	ends  []int  // where in text the cells end
	cells []string
}

// NewReader reads from a text whose cells are separated by one of [Separators].
func NewReader(in *bufio.Reader, separator byte) *Reader {
	return &Reader{in: in, separator: separator}
}

// Read returns the cells of the next row that is not blank, and the line on which
// it begins. The slice is good until the next call; the texts are good for ever,
// and all of a row are in one piece of memory. The error is a *[RowError], or
// io.EOF, or whatever keeps the text from being read.
func (r *Reader) Read() (cells []string, line int64, err error) {
	for {
		r.row = r.row[:0]
		err := r.take()
		line := r.line
		switch {
		case errors.Is(err, errTooLong):
			return nil, line, &RowError{line, -1, fmt.Sprintf("the row is longer than %d MiB", MostBytes>>20)}
		case err != nil:
			return nil, line, err
		case len(trimEnd(r.row)) == 0:
			continue
		}
		cells, err := r.parse(line)
		return cells, line, err
	}
}

var errTooLong = errors.New("too long")

// take adds the next line, with its end, to the row. A line that is too long is
// skipped.
func (r *Reader) take() error {
	switch {
	case len(r.back) > 0:
		end := bytes.IndexByte(r.back, '\n') + 1
		if end == 0 {
			end = len(r.back) // the last line of the text, without an end
		}
		r.row = append(r.row, r.back[:end]...)
		r.back = r.back[end:]
		r.line++
		return nil
	case r.skipped:
		r.skipped = false
		r.line++
		return errTooLong
	case r.ended != nil:
		return r.ended
	}
	start, size := len(r.row), 0
	for {
		part, err := r.in.ReadSlice('\n')
		if size += len(part); size <= MostBytes {
			r.row = append(r.row, part...)
		}
		if errors.Is(err, bufio.ErrBufferFull) {
			continue
		}
		r.ended = err
		switch {
		case err != nil && !errors.Is(err, io.EOF), size == 0:
			return err
		case size > MostBytes:
			r.row = r.row[:start]
			r.line++
			return errTooLong
		}
		r.line++
		return nil
	}
}

// parse reads the cells of a row whose first line was taken.
func (r *Reader) parse(line int64) ([]string, error) {
	first := len(r.row)
	text := trimEnd(r.row)
	if bytes.IndexByte(text, '"') < 0 {
		return r.split(string(text), line)
	}
	r.text, r.ends = r.text[:0], r.ends[:0]
	at := 0
	for {
		problem := ""
		at, problem = r.cell(at)
		if problem != "" {
			return nil, r.broken(line, first, len(r.ends), problem)
		}
		r.ends = append(r.ends, len(r.text))
		switch {
		case len(r.ends) > MostCells:
			return nil, r.broken(line, first, -1, tooManyCells)
		case at == len(trimEnd(r.row)):
			return r.cut(string(r.text)), nil
		}
		at++ // the separator
	}
}

var tooManyCells = fmt.Sprintf("the row has more than %d cells", MostCells)

// split is the usual case, in which no cell is in quotes.
func (r *Reader) split(text string, line int64) ([]string, error) {
	r.cells = r.cells[:0]
	for {
		end := strings.IndexByte(text, r.separator)
		if end < 0 {
			r.cells = append(r.cells, text)
			return r.cells, nil
		}
		if len(r.cells) == MostCells-1 {
			return nil, &RowError{line, -1, tooManyCells}
		}
		r.cells = append(r.cells, text[:end])
		text = text[end+1:]
	}
}

func (r *Reader) cut(text string) []string {
	r.cells = r.cells[:0]
	start := 0
	for _, end := range r.ends {
		r.cells = append(r.cells, text[start:end])
		start = end
	}
	return r.cells
}

// cell reads the cell that begins at a place of the row, taking more lines where
// it has breaks in it, and returns where it ends.
func (r *Reader) cell(at int) (end int, problem string) {
	if at == len(r.row) || r.row[at] != '"' {
		text := trimEnd(r.row)[at:]
		if end := bytes.IndexByte(text, r.separator); end >= 0 {
			text = text[:end]
		}
		if bytes.IndexByte(text, '"') >= 0 {
			return 0, "a quotation mark stands within a cell that is not in quotes"
		}
		r.text = append(r.text, text...)
		return at + len(text), ""
	}
	at++
	for {
		quote := bytes.IndexByte(r.row[at:], '"')
		if quote < 0 {
			r.text = append(r.text, r.row[at:]...)
			at = len(r.row)
			err := r.take()
			r.skipped = r.skipped || errors.Is(err, errTooLong)
			if err != nil || len(r.row) > MostBytes {
				return 0, "a quotation mark is not closed"
			}
			continue
		}
		r.text = append(r.text, r.row[at:at+quote]...)
		at += quote + 1
		switch {
		case at < len(r.row) && r.row[at] == '"':
			r.text = append(r.text, '"')
			at++
		case at == len(trimEnd(r.row)), r.row[at] == r.separator:
			return at, ""
		default:
			return 0, "text stands after the quotation mark that closes a cell"
		}
	}
}

// broken gives up the first line of a row, and the rest of it back.
func (r *Reader) broken(line int64, first, cell int, message string) error {
	if rest := r.row[first:]; len(rest) > 0 {
		r.back = append(bytes.Clone(rest), r.back...)
	}
	r.line = line
	return &RowError{line, cell, message}
}

func trimEnd(line []byte) []byte {
	return bytes.TrimSuffix(bytes.TrimSuffix(line, []byte("\n")), []byte("\r"))
}
