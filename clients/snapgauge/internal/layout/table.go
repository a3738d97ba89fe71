package layout

import (
	"io"
	"strings"
)

// Column is one column of a [Table].
type Column struct {
	// Title stands above it.
	Title string
	// Drop says how readily the column is left out of a narrow terminal: the
	// greatest goes first, nought never does.
	Drop int
	// Right aligns numbers.
	Right bool
	// Style of its cells, or none.
	Style Style
	// StyleOf, where given, styles a cell by its text instead.
	StyleOf func(cell string) Style
}

// Table lists things, one to a line.
type Table struct {
	Columns []Column
	Rows    [][]string // a cell for each column
}

const gap = 2

// Write lays the table out in width cells: it leaves columns out, then shortens
// the widest. Cells are cleaned.
func (t Table) Write(w io.Writer, width int, ink Ink) error {
	widths := make([]int, len(t.Columns))
	rows := make([][]string, len(t.Rows))
	for i, column := range t.Columns {
		widths[i] = Width(column.Title)
	}
	for r, row := range t.Rows {
		rows[r] = make([]string, len(t.Columns))
		for i := range t.Columns {
			rows[r][i] = Clean(row[i])
			widths[i] = max(widths[i], Width(rows[r][i]))
		}
	}
	t.fit(widths, width)
	var b strings.Builder
	line := func(cells []string, style func(i int, cell string) Style) {
		var out strings.Builder
		blanks := 0 // owed before the next text, so that no line ends in them
		first := true
		for i, cell := range cells {
			if widths[i] < 0 {
				continue
			}
			if !first {
				blanks += gap
			}
			first = false
			cell = Shorten(cell, widths[i])
			rest := widths[i] - Width(cell)
			if t.Columns[i].Right {
				blanks, rest = blanks+rest, 0
			}
			if cell != "" {
				out.WriteString(strings.Repeat(" ", blanks))
				out.WriteString(ink.Write(style(i, cell), cell))
				blanks = 0
			} else {
				rest = widths[i]
			}
			blanks += rest
		}
		b.WriteString(out.String() + "\n")
	}
	titles := make([]string, len(t.Columns))
	for i, column := range t.Columns {
		titles[i] = column.Title
	}
	line(titles, func(int, string) Style { return Dim })
	for _, row := range rows {
		line(row, func(i int, cell string) Style {
			if of := t.Columns[i].StyleOf; of != nil {
				return of(cell)
			}
			return t.Columns[i].Style
		})
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// fit makes the widths fit: -1 for a column that is left out.
func (t Table) fit(widths []int, width int) {
	total := func() int {
		sum := -gap
		for _, w := range widths {
			if w >= 0 {
				sum += w + gap
			}
		}
		return sum
	}
	for total() > width {
		out := -1
		for i, column := range t.Columns {
			if widths[i] >= 0 && column.Drop > 0 && (out < 0 || column.Drop > t.Columns[out].Drop) {
				out = i
			}
		}
		if out < 0 {
			break
		}
		widths[out] = -1
	}
	const narrowest = 8
	for total() > width {
		widest := -1
		for i, w := range widths {
			if w > narrowest && (widest < 0 || w > widths[widest]) {
				widest = i
			}
		}
		if widest < 0 {
			return
		}
		widths[widest]--
	}
}
