package auditreport

import (
	"fmt"
	"html"
	"html/template"
	"strings"
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
	Free     bool // the head is free text
}

// cell is one cell: a figure or a few words of the report's own, unless it is
// free text.
type cell struct {
	Text  string
	Small string // a second line
	Free  bool   // both are free text, whose direction is kept to itself
	Href  string
	Class string
	SVG   template.HTML
}

// folded is a table of which the reader sees the first rows, and the rest on
// asking.
type folded struct {
	Shown table
	More  string // what the rest is; empty where there is none
	Rest  table
	Left  string // says what is in neither, and why
}

// Classes of cells. A cell without one holds a figure; a column's head without
// one stands above words.
const (
	figure = "n" // the head of a column of figures
	words  = "t"
)

func head(text string) column         { return column{Head: text} }
func figures(text string) column      { return column{Head: text, Class: figure} }
func text(s string) cell              { return cell{Text: s, Class: words, Free: true} }
func own(s string) cell               { return cell{Text: s, Class: words} }
func figureCell(s string) cell        { return cell{Text: s} }
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
	return folded{Shown: t, Rest: rest, More: moreRows(rest.Rows, noun)}
}

// moreRows names what is folded: "26 more shops".
func moreRows[T any](rest []T, noun string) string {
	return strings.Replace(counted(int64(len(rest)), noun), space, " more ", 1)
}

// Markup writes the table. A report has thousands of cells: here each costs what
// it says and little more, in the file and in time.
func (t table) Markup() template.HTML {
	var b strings.Builder
	if t.Scroll {
		fmt.Fprintf(&b, `<div class="scroll" tabindex="0" role="group" aria-labelledby="%s">`, t.ID)
	} else {
		b.WriteString(`<div class="still">`)
	}
	b.WriteString("\n<table")
	class(&b, t.Class)
	fmt.Fprintf(&b, ">\n<caption id=\"%s\"", t.ID)
	if t.Quiet {
		class(&b, "quiet")
	}
	b.WriteByte('>')
	b.WriteString(html.EscapeString(t.Caption))
	b.WriteString("</caption>\n<thead><tr>")
	for _, c := range t.Columns {
		b.WriteString(`<th scope="col"`)
		class(&b, c.Class)
		b.WriteByte('>')
		said(&b, c.Head, c.Free)
		if c.To != "" {
			fmt.Fprintf(&b, `<span class="ends" aria-hidden="true"><span>%s</span><span>%s</span></span>`, c.From, c.To)
		}
		b.WriteString("</th>")
	}
	b.WriteString("</tr></thead>\n<tbody>\n")
	for _, row := range t.Rows {
		b.WriteString("<tr>")
		for i, c := range row {
			if i == 0 {
				b.WriteString(`<th scope="row"`)
				if c.Class == words {
					c.Class = ""
				}
			} else {
				b.WriteString("<td")
			}
			class(&b, c.Class)
			b.WriteByte('>')
			c.write(&b)
			if i == 0 {
				b.WriteString("</th>")
			} else {
				b.WriteString("</td>")
			}
		}
		b.WriteString("</tr>\n")
	}
	b.WriteString("</tbody>\n</table>\n</div>")
	return template.HTML(b.String()) // every text is escaped
}

func class(b *strings.Builder, name string) {
	if name != "" {
		fmt.Fprintf(b, ` class="%s"`, name)
	}
}

// said writes a text, and keeps the direction of one that is free to itself.
func said(b *strings.Builder, text string, free bool) {
	if text == "" {
		return
	}
	if free {
		b.WriteString("<bdi>")
	}
	b.WriteString(html.EscapeString(text))
	if free {
		b.WriteString("</bdi>")
	}
}

func (c cell) write(b *strings.Builder) {
	if c.Href != "" {
		fmt.Fprintf(b, `<a href="%s">`, c.Href)
	}
	said(b, c.Text, c.Free)
	if c.Href != "" {
		b.WriteString("</a>")
	}
	if c.Small != "" {
		b.WriteString(" <small>")
		said(b, c.Small, c.Free)
		b.WriteString("</small>")
	}
	b.WriteString(string(c.SVG))
}
