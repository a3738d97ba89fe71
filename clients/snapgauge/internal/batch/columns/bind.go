package columns

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/snapgauge/snapgauge/service/document"
	"github.com/snapgauge/snapgauge/service/near"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// Separator returns the separator that the map gives; ok is false where it is to
// be recognised.
func (m *Map) Separator() (separator byte, ok bool) { return m.separator, m.separator != 0 }

// Matches counts the columns of the map that a header has.
func (m *Map) Matches(header []string) int {
	n := 0
	for _, name := range m.names {
		if i, _ := find(header, name); i >= 0 {
			n++
		}
	}
	return n
}

// find returns where in the header a column is, by its name as it is written or
// else in any case; negative where it is not there, or more than once.
func find(header []string, name string) (at, times int) {
	for _, same := range []func(string) bool{
		func(title string) bool { return strings.TrimSpace(title) == name },
		func(title string) bool { return strings.EqualFold(strings.TrimSpace(title), name) },
	} {
		at = slices.IndexFunc(header, same)
		if at < 0 {
			continue
		}
		if slices.ContainsFunc(header[at+1:], same) {
			return -1, 2
		}
		return at, 1
	}
	return -1, 0
}

// Table turns the rows of one table into records.
type Table struct {
	*Map
	header []string
	index  []int // of the columns of the map in the header
	forms  map[*message]*form
	// Where a row is a reading: what all rows of a record say alike, and the
	// instruments that each may add.
	shared      []*column
	instruments []*field

	row    int64
	cells  []Cell
	about  string // the characteristic whose reading the row is, while that is read
	faults faults

	group group
	emit  func(Result)
}

// Result is what came of one row, or of the rows of one record.
type Result struct {
	// Record is nil where Fault is not empty.
	Record *record
	// Fault says in one line what is wrong, with rows and columns.
	Fault string
	// Row where it begins.
	Row int64
}

// Bind makes the map fit a table with this header; file is the table's name.
// The results are handed to emit in the order of the rows. The error is
// document.Errors, with the places in the map.
func (m *Map) Bind(file string, header []string, emit func(Result)) (*Table, error) {
	t := &Table{Map: m, header: slices.Clone(header), emit: emit, forms: make(map[*message]*form)}
	t.index = make([]int, len(m.names))
	missing := make(map[int]string) // what to say of a column, by its number
	for id, name := range m.names {
		at, times := find(header, name)
		t.index[id] = at
		switch {
		case times > 1:
			missing[id] = fmt.Sprintf("%s has the column %q more than once", file, phrase.Clip(name))
		case times == 0:
			missing[id] = fmt.Sprintf("%s has no column %q%s", file, phrase.Clip(name), t.advice(name))
		}
	}
	var faults document.Errors
	for _, c := range m.columns {
		for _, id := range c.ids {
			if text := missing[id]; text != "" && len(faults) < mostFaults {
				faults = append(faults, &document.Error{File: m.name, Line: c.line, Column: c.column, Field: c.path, Message: text})
			}
		}
	}
	if len(faults) > 0 {
		slices.SortStableFunc(faults, func(a, b *document.Error) int { return a.Line - b.Line })
		return nil, faults
	}
	t.prepare()
	for _, f := range m.record.fields {
		switch f.desc.Name() {
		case "readings":
		case "instruments":
			if f.varies() {
				t.instruments = f.entries
			}
		default:
			t.shared = append(t.shared, f.within()...)
		}
	}
	return t, nil
}

func (t *Table) advice(name string) string {
	titles := t.header[:min(len(t.header), 1000)]
	if meant := near.Name(name, titles); meant != "" {
		return fmt.Sprintf("; did you mean %q?", meant)
	}
	const most = 8
	some := make([]string, 0, most+1)
	for _, title := range titles[:min(len(titles), most)] {
		if !utf8.ValidString(title) {
			return "; its first row is not UTF-8 text"
		}
		some = append(some, phrase.Clip(title))
	}
	if len(titles) > most {
		some = append(some, "…")
	}
	return "; it has " + strings.Join(some, ", ")
}

// cell is what stands in a column of the row; empty as well where the map says
// that it is as good as empty.
func (t *Table) cell(c *column) (Cell, string) {
	cell := t.cells[t.index[c.ids[0]]]
	for _, id := range c.ids[1:] {
		other := t.cells[t.index[id]]
		switch {
		case other.empty():
		case cell.empty():
			cell = other
		case cell.kind != cellText || other.kind != cellText:
			return cell, "a time in two columns must be text in both"
		default:
			cell.text += " " + other.text
		}
	}
	if len(t.empty) > 0 && cell.kind == cellText && t.empty[fold(cell.text)] {
		return Cell{}, ""
	}
	return cell, ""
}

// value reads a column of the row as a value of a field. ok is false where there
// is none, or where it is wrong, which was then noted.
func (t *Table) value(c *column, desc protoreflect.FieldDescriptor) (v protoreflect.Value, ok bool) {
	cell, problem := t.cell(c)
	if problem == "" {
		if cell.empty() {
			return v, false
		}
		how := &t.conventions
		if c.times != nil {
			own := *how
			own.times = *c.times
			how = &own
		}
		v, ok, problem = how.value(cell, desc, c.words)
	}
	if problem != "" {
		t.fault(c, problem)
		return v, false
	}
	return v, ok
}

func (t *Table) fault(c *column, problem string) {
	about := ""
	if t.about != "" {
		about = phrase.Clip(t.about) + ", "
	}
	t.faults.add(t.row, fmt.Sprintf("%scolumn %q: %s", about, phrase.Clip(t.title(c)), problem))
}

// faults are what is wrong with the rows of a record.
type faults struct {
	texts []string
	count int
	first int64 // row that needs not be named: the place of the record names it
}

func (f *faults) add(row int64, text string) {
	const most = 3 // what follows is often only more of the same
	if f.count++; f.count > most {
		return
	}
	if row != f.first {
		text = fmt.Sprintf("row %d, %s", row, text)
	}
	f.texts = append(f.texts, text)
}

func (f *faults) String() string {
	if more := f.count - len(f.texts); more > 0 {
		return fmt.Sprintf("%s; and %d more", strings.Join(f.texts, "; "), more)
	}
	return strings.Join(f.texts, "; ")
}
