package auditreport

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strconv"
	"strings"
)

// picture is an inline SVG image in the making. Its colours and pens are classes
// of the style sheet, so that the page decides what light and dark are. All that
// has one class is one path, and lies where the first of it was drawn; texts lie
// above everything.
type picture struct {
	width, height float64
	layers        []*layer
	texts         strings.Builder
}

// layer is the path of one class.
type layer struct {
	class string
	path  strings.Builder
}

// point is a place in a picture.
type point struct{ x, y float64 }

func (p *picture) layer(class string) *strings.Builder {
	for _, l := range p.layers {
		if l.class == class {
			return &l.path
		}
	}
	l := &layer{class: class}
	p.layers = append(p.layers, l)
	return &l.path
}

// numbers writes lengths as a path has them, parted only where they must be.
func numbers(b *strings.Builder, list ...float64) {
	for i, v := range list {
		s := number(v)
		if i > 0 && s[0] != '-' {
			b.WriteByte(' ')
		}
		if rest, ok := strings.CutPrefix(s, "0."); ok {
			s = "." + rest
		} else if rest, ok := strings.CutPrefix(s, "-0."); ok {
			s = "-." + rest
		}
		b.WriteString(s)
	}
}

// stroke draws a line on from where the pen is, from and to being places on the
// grid.
func stroke(b *strings.Builder, from, to point) {
	switch x, y := to.x-from.x, to.y-from.y; {
	case number(y) == "0":
		b.WriteByte('h')
		numbers(b, x)
	case number(x) == "0":
		b.WriteByte('v')
		numbers(b, y)
	default:
		b.WriteByte('l')
		numbers(b, x, y)
	}
}

// onGrid is the place that is written for one, so that steps between places do
// not add up their rounding.
func onGrid(x, y float64) point {
	at := func(v float64) float64 {
		if !finite(v) {
			return 0
		}
		return math.Round(v*10) / 10
	}
	return point{at(x), at(y)}
}

func (p *picture) line(class string, x1, y1, x2, y2 float64) {
	p.trace(class, []point{{x1, y1}, {x2, y2}})
}

func (p *picture) rect(class string, x, y, w, h float64) {
	if !(w > 0) || !(h > 0) {
		return
	}
	from, to := onGrid(x, y), onGrid(x+w, y+h)
	w, h = max(to.x-from.x, 0.1), max(to.y-from.y, 0.1)
	b := p.layer(class)
	b.WriteByte('M')
	numbers(b, from.x, from.y)
	b.WriteByte('h')
	numbers(b, w)
	b.WriteByte('v')
	numbers(b, h)
	b.WriteByte('h')
	numbers(b, -w)
	b.WriteByte('z')
}

// dot is a line without length, whose round ends make it as large as its pen.
func (p *picture) dot(class string, x, y float64) { p.line(class, x, y, x, y) }

// ring is a dot that is cut out.
func (p *picture) ring(x, y float64) {
	p.dot("open", x, y)
	p.dot("hole", x, y)
}

func (p *picture) trace(class string, points []point) {
	if len(points) < 2 {
		return
	}
	b := p.layer(class)
	from := onGrid(points[0].x, points[0].y)
	b.WriteByte('M')
	numbers(b, from.x, from.y)
	for _, q := range points[1:] {
		to := onGrid(q.x, q.y)
		stroke(b, from, to)
		from = to
	}
}

// text writes words that begin, end or have their middle at x: the anchor is
// "start", "end" or "middle". A tick in the middle is what the style sheet takes
// a text for that has no class.
func (p *picture) text(class, anchor string, x, y float64, said string) {
	var classes []string
	if class != "tick" {
		classes = append(classes, class)
	}
	if anchor != "middle" {
		classes = append(classes, anchor)
	}
	p.texts.WriteString("<text")
	if len(classes) > 0 {
		fmt.Fprintf(&p.texts, ` class="%s"`, strings.Join(classes, " "))
	}
	fmt.Fprintf(&p.texts, ` x="%s" y="%s">%s</text>`, number(x), number(y), html.EscapeString(said))
}

func (p *picture) end(attributes string) template.HTML {
	var b strings.Builder
	fmt.Fprintf(&b, `<svg %s viewBox="0 0 %s %s">`, attributes, number(p.width), number(p.height))
	for _, l := range p.layers {
		fmt.Fprintf(&b, `<path class="%s" d="%s"/>`, l.class, l.path.String())
	}
	b.WriteString(p.texts.String())
	b.WriteString("</svg>")
	return template.HTML(b.String()) // every text is escaped
}

// named ends the picture as an image whose name says its figures.
func (p *picture) named(class, sentence string) template.HTML {
	return p.end(fmt.Sprintf(`role="img" class="%s" aria-label="%s"`, class, html.EscapeString(sentence)))
}

// beside ends the picture as one that says nothing that the table beside it does
// not say. The class has its size.
func (p *picture) beside(class string) template.HTML {
	return p.end(`aria-hidden="true" class="` + class + `"`)
}

// stretched is [picture.beside] for a picture that fills its table cell, whatever
// the cell's size.
func (p *picture) stretched() template.HTML {
	return p.end(`aria-hidden="true" preserveAspectRatio="none"`)
}

// letter is about the width of a character of the drawings' text; figures are
// narrower.
const letter = 6.7

// number writes a length to a tenth, without idle zeros: finer than what is seen.
func number(v float64) string {
	if !finite(v) {
		v = 0
	}
	return strconv.FormatFloat(math.Round(v*10)/10+0, 'f', -1, 64)
}
