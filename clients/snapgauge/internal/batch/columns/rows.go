package columns

import (
	"fmt"

	"google.golang.org/protobuf/proto"

	"github.com/snapgauge/snapgauge/service/phrase"
)

// Row takes the next row; the cells are those of the header, and the table does
// not keep them. The number of the row is for messages and results.
func (t *Table) Row(row int64, cells []Cell) {
	t.row, t.cells = row, cells
	if len(cells) != len(t.header) {
		t.Broken(row, fmt.Sprintf("has %d cells, want %d as the first row has", len(cells), len(t.header)))
		return
	}
	if t.perReading {
		t.joinGroup()
		return
	}
	t.faults = faults{first: row}
	t.result(t.begin(), row)
}

// Broken takes the place of a row that cannot be read. Where a row is a reading,
// nobody knows to which record it belongs: those before and after it, whose rows
// it stands between, may lack it and are not judged.
func (t *Table) Broken(row int64, why string) {
	if !t.perReading {
		t.emit(Result{Fault: why, Row: row})
		return
	}
	if t.group.record == nil {
		t.group = group{doubt: row}
		t.emit(Result{Fault: why, Row: row})
		return
	}
	t.group.doubt = row
	t.group.faults.add(row, why)
}

// End says that there are no more rows.
func (t *Table) End() { t.endGroup() }

func (t *Table) result(r *record, row int64) {
	if t.faults.count > 0 {
		t.emit(Result{Fault: t.faults.String(), Row: row})
		return
	}
	t.emit(Result{Record: r, Row: row})
}

// mostReadings is how many readings a record may have.
const mostReadings = 1024

// group is the record whose rows are being read, where a row is a reading.
type group struct {
	record *record
	row    int64
	rows   int
	key    []Cell
	shared []Cell // what every row of it says alike
	faults faults
	doubt  int64 // the last row, where it could not be read
}

// joinGroup adds the row to the record that it belongs to.
func (t *Table) joinGroup() {
	g := &t.group
	if g.record == nil || !t.sameKey() {
		doubt := g.doubt
		t.endGroup()
		*g = group{row: t.row, faults: faults{first: t.row}}
		if doubt > 0 {
			g.faults.texts, g.faults.count = append(g.faults.texts,
				fmt.Sprintf("row %d, which may belong to it, cannot be read", doubt)), 1
		}
		for _, id := range t.key.ids {
			g.key = append(g.key, t.cells[t.index[id]])
		}
		t.faults = g.faults
		g.record = t.begin()
		for _, c := range t.shared {
			cell, _ := t.cell(c)
			g.shared = append(g.shared, cell)
		}
	} else {
		t.faults = g.faults
		t.compareShared()
	}
	g.doubt = 0
	if g.rows++; g.rows > mostReadings {
		if g.rows == mostReadings+1 {
			t.faults.add(g.row, fmt.Sprintf("more than %d rows have the same %s", mostReadings, t.title(t.key)))
		}
	} else {
		t.collect(g.record)
	}
	g.faults = t.faults
}

func (t *Table) sameKey() bool {
	for i, id := range t.key.ids {
		if !t.group.key[i].equal(t.cells[t.index[id]]) {
			return false
		}
	}
	return true
}

// endGroup gives out the record whose rows were read.
func (t *Table) endGroup() {
	if t.group.record != nil {
		t.faults = t.group.faults
		t.result(t.group.record, t.group.row)
	}
	t.group = group{}
}

// compareShared finds rows of one record that do not agree on what it is.
func (t *Table) compareShared() {
	for i, c := range t.shared {
		if cell, _ := t.cell(c); !cell.equal(t.group.shared[i]) {
			t.fault(c, fmt.Sprintf("got %q, but row %d of the same record has %q",
				phrase.Clip(cell.String()), t.group.row, phrase.Clip(t.group.shared[i].String())))
		}
	}
}

// collect adds the reading and the instruments of the row to a record.
func (t *Table) collect(r *record) {
	for _, entry := range t.instruments {
		t.collectInstrument(r, entry.message)
	}
	if m := t.entryFor(t.record.field("readings").entries); m != nil {
		if c := m.field("characteristic").column; c != nil {
			cell, _ := t.cell(c)
			t.about = cell.String()
			defer func() { t.about = "" }()
		}
		if reading := t.reading(m); reading != nil {
			r.Readings = append(r.Readings, reading)
		}
	}
}

// entryFor finds the entry of the map that a row is for: one that names its
// characteristic, else the one that names none.
func (t *Table) entryFor(entries []*field) *message {
	var other *message
	for _, entry := range entries {
		m := entry.message
		if m.only == nil {
			other = m
			continue
		}
		f := m.field("characteristic")
		if v, ok := t.value(f.column, f.desc); ok && m.only[v.String()] {
			return m
		}
	}
	if other == nil {
		f := entries[0].message.field("characteristic")
		if cell, _ := t.cell(f.column); !cell.empty() {
			t.fault(f.column, fmt.Sprintf("got %q, for which the column map has no entry", phrase.Clip(cell.String())))
		}
	}
	return other
}

func (t *Table) collectInstrument(r *record, m *message) {
	i := t.instrument(m)
	if i == nil {
		return
	}
	for _, known := range r.Instruments {
		if known.GetId() != i.GetId() {
			continue
		}
		if m.varies && !proto.Equal(known, i) {
			if c := m.field("id").column; c != nil {
				t.fault(c, fmt.Sprintf("rows of one record do not say the same of %q", phrase.Clip(i.GetId())))
			} else {
				t.faults.add(t.row, fmt.Sprintf("rows of one record do not say the same of instrument %q", phrase.Clip(i.GetId())))
			}
		}
		return
	}
	r.Instruments = append(r.Instruments, i)
}
