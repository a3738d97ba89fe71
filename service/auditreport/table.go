package auditreport

import (
	"fmt"
	"html/template"
)

// table is a table of the report. The first cell of a row is its head.
type table struct {
	ID      string // of its caption
	Caption string
	Class   string
	// Quiet is set where the heading above says what the caption says.
	Quiet bool
	// Scroll is set for a table that may be wider than a narrow screen: it moves
	// inside its own box.
	Scroll  bool
	Columns []column
	Rows    [][]cell
}

// column is the head of a column.
type column struct {
	Head  string
	Class string
	// From and To are the ends of the axis of a column of drawings.
	From, To string
}

// cell is one cell. Its text is free text or a figure.
type cell struct {
	Text   string
	Small  string // a second line
	Unseen string // for readers by ear
	Href   string
	Class  string
	SVG    template.HTML
}

// folded is a table of which the reader sees the first rows, and the rest on
// asking.
type folded struct {
	Shown table
	More  string // what the rest is; empty where there is none
	Rest  table
}

const figure = "n" // the class of a column of figures

func head(text string) column         { return column{Head: text} }
func figures(text string) column      { return column{Head: text, Class: figure} }
func text(s string) cell              { return cell{Text: s} }
func figureCell(s string) cell        { return cell{Text: s, Class: figure} }
func countCell(n int64) cell          { return figureCell(count(n)) }
func plotCell(svg template.HTML) cell { return cell{Class: "plot", SVG: svg} }

// fold parts a table after so many rows. One row more is not worth a fold.
func (b *builder) fold(t table, most int, noun string) folded {
	if len(t.Rows) <= most+1 {
		return folded{Shown: t}
	}
	rest := t
	rest.ID = b.tableID()
	rest.Caption += ", continued"
	rest.Quiet = false
	rest.Rows = t.Rows[most:]
	t.Rows = t.Rows[:most]
	return folded{Shown: t, Rest: rest, More: fmt.Sprintf("%d more %ss", len(rest.Rows), noun)}
}
