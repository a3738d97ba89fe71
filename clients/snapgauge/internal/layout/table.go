package layout

import (
	"io"
	"slices"
	"strings"
)

// Column is one column of a [Table].
type Column struct {
	// Title stands above it.
	Title string
	// Drop says how readily the column is left out of a narrow terminal: the
	// greatest goes first; nought does only where shortening does not help.
	Drop int
	// Whole is never shortened, nor left out at last.
	Whole bool
	// Below is never shortened nor left out: where the row has no room for it, it
	// gets a line of its own below. At most one column is so.
	Below bool
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

// Write lays the table out in width cells: it leaves columns out, then puts the
// one for below there and sees anew which columns have room, then shortens the
// widest, and at last leaves out from the right what still has no room. Cells are
// cleaned.
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
	below := t.fit(widths, width)
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
		if below >= 0 && row[below] != "" {
			b.WriteString(strings.Repeat(" ", gap) + ink.Write(t.Columns[below].Style, row[below]) + "\n")
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// fit makes the widths fit: -1 for a column that is left out. It returns the
// column that goes below, or -1.
func (t Table) fit(widths []int, width int) (below int) {
	full := slices.Clone(widths)
	if below = -1; t.drop(widths, width) {
		return below
	}
	for i, column := range t.Columns {
		if column.Below {
			below = i
			copy(widths, full)
			widths[i] = -1
			if t.drop(widths, width) {
				return below
			}
		}
	}
	const narrowest = 8
	for total(widths) > width {
		widest := -1
		for i, w := range widths {
			if w > narrowest && !t.Columns[i].Whole && (widest < 0 || w > widths[widest]) {
				widest = i
			}
		}
		if widest < 0 {
			break
		}
		widths[widest]--
	}
	for i := len(widths) - 1; i > 0 && total(widths) > width; i-- {
		if column := t.Columns[i]; !column.Whole && !column.Below {
			widths[i] = -1
		}
	}
	return below
}

// drop leaves columns out until the others fit, and reports whether they do.
func (t Table) drop(widths []int, width int) bool {
	for total(widths) > width {
		out := -1
		for i, column := range t.Columns {
			if widths[i] >= 0 && column.Drop > 0 && (out < 0 || column.Drop > t.Columns[out].Drop) {
				out = i
			}
		}
		if out < 0 {
			return false
		}
		widths[out] = -1
	}
	return true
}

// total is the width of a line of columns.
func total(widths []int) int {
	sum := -gap
	for _, w := range widths {
		if w >= 0 {
			sum += w + gap
		}
	}
	return sum
}
