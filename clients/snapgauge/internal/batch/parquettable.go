package batch

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"

	"github.com/parquet-go/parquet-go"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch/columns"
)

// parquetTable reads records from a flat Parquet file by a column map.
type parquetTable struct {
	*parquetFile
	mapped
	leaves []parquetLeaf
	at     []int // by the number of a column in the file: its cell; negative where it is none

	groups []parquet.RowGroup
	rows   parquet.Rows // of the first of the groups that is not done
	batch  []parquet.Row
	left   []parquet.Row // those of the batch that are not taken yet
	cells  []columns.Cell
	row    int64
}

// parquetLeaf is a column that has at most one value in a row.
type parquetLeaf struct {
	title string
	text  bool
	cell  func(parquet.Value) columns.Cell
}

func newParquetTable(p *parquetFile, m *columns.Map) (*parquetTable, error) {
	t := &parquetTable{parquetFile: p, mapped: mapped{name: p.name}, batch: make([]parquet.Row, rowsAtOnce)}
	schema := p.parsed.Schema()
	var header []string
	unread := make(map[string]error) // columns that no map can have, and why
	for _, path := range schema.Columns() {
		leaf, ok := schema.Lookup(path...)
		t.at = append(t.at, -1)
		switch {
		case !ok:
			continue
		case leaf.MaxRepetitionLevel > 0:
			unread[title(path)] = errors.New("is a list; want one value in a row")
			continue
		}
		cell, err := cellOf(leaf.Node)
		if err != nil {
			unread[title(path)] = err
			continue
		}
		t.at[len(t.at)-1] = len(header)
		header = append(header, title(path))
		text := leaf.Node.Type().Kind() == parquet.ByteArray && !isDecimal(leaf.Node)
		t.leaves = append(t.leaves, parquetLeaf{title(path), text, cell})
	}
	if err := t.bind(m, header); err != nil {
		for _, title := range slices.Sorted(maps.Keys(unread)) {
			if m.Matches([]string{title}) > 0 {
				return nil, fileError(p.name, fmt.Errorf("the column %s %w", title, unread[title]))
			}
		}
		return nil, err
	}
	t.cells = make([]columns.Cell, len(header))
	t.groups = p.parsed.RowGroups()
	return t, nil
}

func (t *parquetTable) Next() (Item, error) { return t.next(t.take) }

// take takes the next row.
func (t *parquetTable) take() error {
	for len(t.left) == 0 {
		err := guard(t.read)
		if errors.Is(err, io.EOF) {
			err = t.ended()
		}
		switch {
		case errors.Is(err, io.EOF):
			return io.EOF
		case err != nil:
			return fileError(t.parquetFile.name, fmt.Errorf("after row %d: %w", t.row, err))
		}
	}
	row := t.left[0]
	t.left = t.left[1:]
	if t.row++; t.row > t.parsed.NumRows() {
		return fileError(t.parquetFile.name, errMoreRows)
	}
	t.taken.Store(t.row)
	clear(t.cells)
	broken := ""
	err := guard(func() error {
		for _, v := range row {
			at := t.at[v.Column()]
			if at < 0 || v.IsNull() {
				continue
			}
			t.cells[at] = t.leaves[at].cell(v)
			if v.Kind() != parquet.ByteArray {
				continue
			}
			if problem := notText(string(v.ByteArray())); problem != "" && t.leaves[at].text {
				broken = fmt.Sprintf("column %q: %s", t.leaves[at].title, problem)
			}
		}
		return nil
	})
	switch {
	case err != nil:
		return fileError(Place{t.parquetFile.name, t.row}.String(), err)
	case broken != "":
		t.table.Broken(t.row, broken)
	default:
		t.table.Row(t.row, t.cells)
	}
	return nil
}

// read reads some rows; io.EOF means that there are no more.
func (t *parquetTable) read() error {
	if t.rows == nil {
		if len(t.groups) == 0 {
			return io.EOF
		}
		t.rows = t.groups[0].Rows()
		t.groups = t.groups[1:]
	}
	n, err := t.rows.ReadRows(t.batch)
	t.left = t.batch[:n]
	if n == 0 && err == nil {
		err = io.ErrNoProgress
	}
	if errors.Is(err, io.EOF) {
		err = t.rows.Close()
		t.rows = nil
	}
	return err
}

func (t *parquetTable) Close() error {
	if t.rows != nil {
		_ = guard(t.rows.Close) // only read from
		t.rows = nil
	}
	return t.parquetFile.Close()
}
