package sheet

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strconv"
	"strings"
)

// svg draws a drawing as an inline SVG image: a title for those who can not see
// it, one user unit to the millimetre, colours by class so that the page decides
// what black and white are.
func (d *Drawing) svg() template.HTML {
	var b strings.Builder
	fmt.Fprintf(&b, `<svg role="img" aria-label="%s" viewBox="0 0 %s %s" width="%smm" height="%smm">`,
		html.EscapeString(d.title), number(d.width), number(d.height), number(d.width), number(d.height))
	for i := range d.items {
		d.items[i].svg(&b)
	}
	b.WriteString("</svg>")
	return template.HTML(b.String()) // every text was escaped above
}

func (it *item) svg(b *strings.Builder) {
	p := it.points
	switch it.shape {
	case lineShape:
		fmt.Fprintf(b, `<line x1="%s" y1="%s" x2="%s" y2="%s"`, number(p[0].x), number(p[0].y), number(p[1].x), number(p[1].y))
	case polygonShape:
		b.WriteString(`<polygon points="`)
		for i, q := range p {
			if i > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(number(q.x) + "," + number(q.y))
		}
		b.WriteByte('"')
	case circleShape:
		fmt.Fprintf(b, `<circle cx="%s" cy="%s" r="%s"`, number(p[0].x), number(p[0].y), number(it.radius))
	case textShape:
		fmt.Fprintf(b, `<text x="%s" y="%s" font-size="%s"`, number(p[0].x), number(p[0].y), number(it.size*mmPerPoint))
		switch it.anchor {
		case middle:
			b.WriteString(` text-anchor="middle"`)
		case end:
			b.WriteString(` text-anchor="end"`)
		}
		if it.bold {
			b.WriteString(` font-weight="bold"`)
		}
	}
	if it.stroke != none && it.pen > 0 {
		fmt.Fprintf(b, ` stroke-width="%s"`, number(it.pen))
	}
	if it.dashed {
		b.WriteString(` stroke-dasharray="1.2 0.8"`)
	}
	fmt.Fprintf(b, ` class="%s"`, it.class())
	if it.role != "" {
		fmt.Fprintf(b, ` data-mark="%s"`, html.EscapeString(it.role))
	}
	if it.shape == textShape {
		b.WriteString(">" + html.EscapeString(it.text) + "</text>")
		return
	}
	b.WriteString("/>")
}

// class names stroke and fill: "s-black f-none".
func (it *item) class() string {
	stroke := it.stroke
	if it.pen == 0 {
		stroke = none
	}
	return "s-" + stroke.name() + " f-" + it.fill.name()
}

func (i ink) name() string {
	switch i {
	case black:
		return "black"
	case grey:
		return "grey"
	case tint:
		return "tint"
	case paper:
		return "paper"
	}
	return "none"
}

// number writes a length to a hundredth of a millimetre, without idle zeros.
func number(v float64) string {
	return strconv.FormatFloat(math.Round(v*100)/100+0, 'f', -1, 64)
}
