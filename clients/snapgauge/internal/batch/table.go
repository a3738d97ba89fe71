package batch

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch/columns"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch/delimited"
)

// mapped gives the records that a column map makes of the rows of a table.
type mapped struct {
	name  string
	table *columns.Table
	ready []Item // what the rows gave that is not handed out yet
	err   error
}

func (m *mapped) bind(to *columns.Map, header []string) (err error) {
	m.table, err = to.Bind(m.name, header, func(r columns.Result) {
		place := Place{m.name, r.Row}
		if r.Record == nil {
			m.ready = append(m.ready, unreadable(place, r.Fault))
			return
		}
		m.ready = append(m.ready, Item{Record: r.Record, Place: place})
	})
	return err
}

// next hands out a result; more takes another row.
func (m *mapped) next(more func() error) (Item, error) {
	for len(m.ready) == 0 && m.err == nil {
		if m.err = more(); errors.Is(m.err, io.EOF) {
			m.table.End()
		}
	}
	if len(m.ready) == 0 {
		return Item{}, m.err
	}
	item := m.ready[0]
	m.ready[0] = Item{}
	if m.ready = m.ready[1:]; len(m.ready) == 0 {
		m.ready = nil
	}
	return item, nil
}

// table reads records from a table that is text.
type table struct {
	*stream
	mapped
	rows  *delimited.Reader
	cells []columns.Cell
	head  []string
}

func newTable(s *stream, m *columns.Map) (Source, error) {
	separator, ok := m.Separator()
	if !ok {
		separator = recognise(s.text, m)
	}
	t := &table{stream: s, mapped: mapped{name: s.name}, rows: delimited.NewReader(s.text, separator)}
	head, line, err := t.rows.Read()
	var bad *delimited.RowError
	switch {
	case errors.Is(err, io.EOF):
		return nil, fileError(s.name, errors.New("is empty; want a first row with the names of the columns"))
	case errors.As(err, &bad):
		return nil, fileError(Place{s.name, line}.String(), fmt.Errorf("the first row, which names the columns: %s", bad.Message))
	case err != nil:
		return nil, fileError(s.name, broken(err))
	}
	for i, title := range head {
		if problem := notText(title); problem != "" {
			return nil, fileError(Place{s.name, line}.String(), fmt.Errorf("the first row, which names the columns: cell %d: %s", i+1, problem))
		}
		t.head = append(t.head, strings.TrimSpace(title))
	}
	if err := t.bind(m, t.head); err != nil {
		return nil, err
	}
	return t, nil
}

// recognise tells the separator by the first row: the one that finds most of the
// columns that the map has, then the one that stands there most.
func recognise(text *bufio.Reader, m *columns.Map) byte {
	first := beginning(text)
	line, _, _ := bytes.Cut(first, []byte("\n"))
	best, matches, count := byte(','), -1, 0
	for _, separator := range []byte(delimited.Separators) {
		// What cannot be read has no columns; it is told of later.
		head, _, _ := delimited.NewReader(bufio.NewReader(bytes.NewReader(first)), separator).Read()
		n, stands := m.Matches(head), bytes.Count(line, []byte{separator})
		if n > matches || n == matches && stands > count {
			best, matches, count = separator, n, stands
		}
	}
	return best
}

// beginning is what lies in the buffer, at least a line or all that fits. It waits
// for no more than that: standard input may come slowly.
func beginning(text *bufio.Reader) []byte {
	for {
		first, err := text.Peek(text.Buffered() + 1)
		if err != nil || bytes.IndexByte(first, '\n') >= 0 {
			first, _ = text.Peek(text.Buffered()) // which is there
			return first
		}
	}
}

func (t *table) Next() (Item, error) { return t.next(t.row) }

// row takes the next row that has anything in it.
func (t *table) row() error {
	cells, line, err := t.rows.Read()
	var bad *delimited.RowError
	switch {
	case errors.As(err, &bad):
		t.mapped.table.Broken(line, t.at(bad.Cell)+bad.Message)
		return nil
	case errors.Is(err, io.EOF):
		return io.EOF
	case err != nil:
		return fileError(t.stream.name, broken(err))
	}
	t.cells = t.cells[:0]
	blank := true
	for i, text := range cells {
		// Bytes are looked at before blanks are cut off, since what is no text is
		// no reading either.
		if problem := notText(text); problem != "" {
			t.mapped.table.Broken(line, t.at(i)+problem)
			return nil
		}
		blank = blank && strings.TrimSpace(text) == ""
		t.cells = append(t.cells, columns.Text(text))
	}
	if !blank { // spreadsheets leave such rows behind
		t.mapped.table.Row(line, t.cells)
	}
	return nil
}

// at names the column of a cell.
func (t *table) at(cell int) string {
	switch {
	case cell < 0:
		return ""
	case cell >= len(t.head):
		return fmt.Sprintf("cell %d: ", cell+1)
	}
	return fmt.Sprintf("column %q: ", t.head[cell])
}

// notText says what in a cell is no text, or is empty.
func notText(text string) string {
	plain := true
	for i := range len(text) {
		plain = plain && text[i] >= ' ' && text[i] < utf8.RuneSelf
	}
	switch {
	case plain:
		return ""
	case strings.IndexByte(text, 0) >= 0:
		return "got a NUL byte; this is not text"
	case utf8.ValidString(text):
		return ""
	}
	for i, r := range text {
		if _, size := utf8.DecodeRuneInString(text[i:]); r == utf8.RuneError && size == 1 {
			return fmt.Sprintf("got the byte 0x%02X, which is not UTF-8 text; save the file as UTF-8", text[i])
		}
	}
	return "this is not UTF-8 text"
}
