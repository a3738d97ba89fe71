package auditreport

import (
	"fmt"
	"html"
	"html/template"
	"strings"
)

// picture is an inline SVG image in the making. Its colours and pens are classes
// of the style sheet, so that the page decides what light and dark are.
type picture struct {
	width, height float64
	b             strings.Builder
}

// point is a place in a picture.
type point struct{ x, y float64 }

func (p *picture) line(class string, x1, y1, x2, y2 float64) {
	fmt.Fprintf(&p.b, `<line class="%s" x1="%s" y1="%s" x2="%s" y2="%s"/>`, class, number(x1), number(y1), number(x2), number(y2))
}

func (p *picture) rect(class string, x, y, w, h float64) {
	if !(w > 0) || !(h > 0) {
		return
	}
	fmt.Fprintf(&p.b, `<rect class="%s" x="%s" y="%s" width="%s" height="%s"/>`, class, number(x), number(y), number(w), number(h))
}

func (p *picture) dot(class string, x, y, r float64) {
	fmt.Fprintf(&p.b, `<circle class="%s" cx="%s" cy="%s" r="%s"/>`, class, number(x), number(y), number(r))
}

func (p *picture) trace(class string, points []point) {
	if len(points) < 2 {
		return
	}
	places := make([]string, len(points))
	for i, q := range points {
		places[i] = number(q.x) + "," + number(q.y)
	}
	fmt.Fprintf(&p.b, `<polyline class="%s" points="%s"/>`, class, strings.Join(places, " "))
}

// text writes words that begin, end or have their middle at x: the anchor is
// "start", "end" or "middle".
func (p *picture) text(class, anchor string, x, y float64, said string) {
	fmt.Fprintf(&p.b, `<text class="%s" text-anchor="%s" x="%s" y="%s">%s</text>`, class, anchor, number(x), number(y), html.EscapeString(said))
}

// named ends the picture as an image with a name and a sentence that says its
// figures. The number makes its identifiers unique on the page.
func (p *picture) named(id int, title, sentence string) template.HTML {
	return template.HTML(fmt.Sprintf( // every text is escaped
		`<svg role="img" aria-labelledby="v%[1]d" aria-describedby="d%[1]d" viewBox="0 0 %[2]s %[3]s" width="%[2]s" height="%[3]s"><title id="v%[1]d">%[4]s</title><desc id="d%[1]d">%[5]s</desc>%[6]s</svg>`,
		id, number(p.width), number(p.height), html.EscapeString(title), html.EscapeString(sentence), p.b.String()))
}

// beside ends the picture as one that says nothing that the table around it does
// not say.
func (p *picture) beside() template.HTML {
	return template.HTML(fmt.Sprintf(`<svg aria-hidden="true" viewBox="0 0 %[1]s %[2]s" width="%[1]s" height="%[2]s">%[3]s</svg>`,
		number(p.width), number(p.height), p.b.String()))
}

// stretched is [picture.beside] for a picture that fills its table cell, whatever
// the cell's size.
func (p *picture) stretched() template.HTML {
	return template.HTML(fmt.Sprintf(`<svg aria-hidden="true" viewBox="0 0 %s %s" preserveAspectRatio="none">%s</svg>`,
		number(p.width), number(p.height), p.b.String()))
}

// letter is about the width of a character of the drawings' text; figures are
// narrower.
const letter = 6.7
