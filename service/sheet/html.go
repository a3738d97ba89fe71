package sheet

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"strings"

	"github.com/snapgauge/snapgauge/service/markup"
)

// HTML renders the sheet as one HTML file that needs nothing else. The error is
// one of the template's own and is not expected.
func (s *Sheet) HTML() ([]byte, error) {
	view := htmlSheet{
		Title:   s.Title(),
		Kind:    s.kind,
		Machine: s.machine,
		VIN:     s.vin,
		Foot:    s.footLine(),
		Style:   template.CSS(pageCSS(s) + sheetCSS),
	}
	for i, b := range s.blocks {
		view.Blocks = append(view.Blocks, htmlBlockOf(b, i))
	}
	var out bytes.Buffer
	if err := sheetTemplate.Execute(&out, view); err != nil {
		return nil, fmt.Errorf("sheet: %w", err)
	}
	return bytes.Map(markup.Printable, out.Bytes()), nil
}

//go:embed template/sheet.html
var sheetHTML string

//go:embed template/sheet.css
var sheetCSS string

var sheetTemplate = template.Must(template.New("sheet").Parse(sheetHTML))

// The margins of a page in millimetres; the left one leaves room for holes.
const (
	marginTop    = 20.0
	marginRight  = 13.0
	marginBottom = 17.0
	marginLeft   = 18.0
)

// pageCSS lays out the page: its size, margins, and what is repeated on each.
func pageCSS(s *Sheet) string {
	w, h := s.opt.Paper.size()
	return fmt.Sprintf(`@page {
  size: %gmm %gmm;
  margin: %gmm %gmm %gmm %gmm;
  @top-left { content: %s; font: bold 8pt Arial, "Liberation Sans", Helvetica, sans-serif; vertical-align: bottom; padding-bottom: 2.5mm; white-space: nowrap; }
  @top-right { content: %s; font: 8pt Arial, "Liberation Sans", Helvetica, sans-serif; vertical-align: bottom; padding-bottom: 2.5mm; white-space: nowrap; }
  @bottom-left { content: %s; font: 7.5pt Arial, "Liberation Sans", Helvetica, sans-serif; vertical-align: top; padding-top: 2.5mm; white-space: nowrap; }
  @bottom-right { content: "page " counter(page) " of " counter(pages); font: 7.5pt Arial, "Liberation Sans", Helvetica, sans-serif; vertical-align: top; padding-top: 2.5mm; white-space: nowrap; }
}
`, w, h, marginTop, marginRight, marginBottom, marginLeft,
		markup.CSSString(ellipsis(s.machine, 8, true, 100)), markup.CSSString(s.vinLine()), markup.CSSString(ellipsis(s.footLine(), 7.5, false, 150)))
}

// What the template sees.
type (
	htmlSheet struct {
		Title, Kind, Machine, VIN, Foot string

		Style  template.CSS
		Blocks []htmlBlock
	}

	htmlBlock struct {
		Kind    string // names the template's part
		ID      string
		Text    string
		Spans   []htmlSpan
		Class   string
		Items   [][]htmlSpan
		Facts   []htmlFact
		Columns []htmlColumn
		Rows    [][]htmlCell
		SVG     template.HTML
		Labels  []string
		// Short tables are kept on one page.
		Short bool
		// Count is the number of columns of a check list.
		Count int
	}

	htmlSpan struct {
		Class string
		Text  string
		Mark  bool
	}

	htmlFact struct {
		Label, Value string
		Blank, Wide  bool
		SVG          template.HTML
	}

	htmlColumn struct {
		Head  string
		Place bool
		Width string // percent
	}

	htmlCell struct {
		Span  int
		Names bool
		Class string
		Label string // the column's head, for narrow screens
		Parts []htmlPart
	}

	htmlPart struct {
		Class string // set where the whole text is of one size
		Spans []htmlSpan
		Ticks []htmlTick
		SVG   template.HTML
		Pair  *htmlPair
	}

	htmlPair struct {
		Share       float64 // of the cell's width that the left column has
		Left, Right []htmlPart
	}

	htmlTick struct {
		Label string
		On    bool
	}
)

// shortTable is the number of rows up to which a table is kept on one page.
const shortTable = 2

func htmlBlockOf(b block, number int) htmlBlock {
	switch b := b.(type) {
	case heading:
		return htmlBlock{Kind: "heading", Text: b.text}
	case paragraph:
		out := htmlBlock{Kind: "paragraph", Class: sizeClass(b.text), Spans: htmlSpans(b.text)}
		if b.leads {
			out.Class = strings.TrimSpace("leads " + out.Class)
		}
		return out
	case callout:
		out := htmlBlock{Kind: "callout", Text: b.title}
		switch b.weight {
		case cautionCallout:
			out.Class = "caution"
		case loudCallout:
			out.Class = "loud"
		case verdictCallout:
			out.Class = "verdict"
		default:
			out.Class = "plain"
		}
		for _, it := range b.items {
			out.Items = append(out.Items, htmlSpans(it))
		}
		return out
	case facts:
		out := htmlBlock{Kind: "facts"}
		for _, f := range b.items {
			hf := htmlFact{Label: f.label, Value: f.value, Blank: f.blank, Wide: f.wide}
			if f.drawing != nil {
				hf.SVG = f.drawing.svg()
			}
			out.Facts = append(out.Facts, hf)
		}
		return out
	case checklist:
		out := htmlBlock{Kind: "checklist", Count: b.columns}
		for _, it := range b.items {
			out.Items = append(out.Items, htmlSpans(it))
		}
		return out
	case table:
		return htmlTable(b, number)
	case figure:
		return htmlBlock{Kind: "figure", SVG: b.drawing.svg(), Spans: htmlSpans(b.caption)}
	case signatures:
		return htmlBlock{Kind: "signatures", Labels: b.labels}
	}
	return htmlBlock{}
}

func htmlTable(t table, number int) htmlBlock {
	out := htmlBlock{Kind: "table", ID: fmt.Sprintf("t%d", number), Text: t.caption, Short: len(t.rows) <= shortTable}
	var total float64
	for _, c := range t.columns {
		total += c.width
	}
	for _, c := range t.columns {
		out.Columns = append(out.Columns, htmlColumn{Head: c.head, Place: c.place, Width: fmt.Sprintf("%.4g", c.width/total*100)})
	}
	for _, r := range t.rows {
		var cells []htmlCell
		at := 0
		for _, c := range r.cells {
			hc := htmlCell{Span: c.columns(), Names: c.names}
			if !t.columns[at].place && !c.names {
				hc.Label = t.columns[at].head
			}
			switch {
			case c.box && len(c.parts) == 0:
				hc.Class = "box empty"
			case c.box:
				hc.Class = "box"
			}
			hc.Parts = htmlPartsOf(c.parts, t.columns[at:at+c.columns()])
			cells = append(cells, hc)
			at += c.columns()
		}
		out.Rows = append(out.Rows, cells)
	}
	return out
}

func htmlPartsOf(parts []part, columns []column) []htmlPart {
	var out []htmlPart
	for _, p := range parts {
		out = append(out, htmlPartOf(p, columns))
	}
	return out
}

// htmlPartOf gives a part of a cell that takes those columns.
func htmlPartOf(p part, columns []column) htmlPart {
	switch p := p.(type) {
	case pair:
		return htmlPart{Pair: &htmlPair{
			Share: firstShare(columns),
			Left:  htmlPartsOf(p.left, columns), Right: htmlPartsOf(p.right, columns),
		}}
	case text:
		return htmlPart{Class: sizeClass(p), Spans: htmlSpans(p)}
	case *Drawing:
		return htmlPart{SVG: p.svg()}
	case ticks:
		var out []htmlTick
		for _, t := range p {
			out = append(out, htmlTick{Label: t.label, On: t.ticked})
		}
		return htmlPart{Ticks: out}
	}
	return htmlPart{}
}

// sizeClass is the class of a text that is small throughout, so that its lines
// stand as close as its size lets them.
func sizeClass(t text) string {
	for _, s := range t {
		if s.style.points() != small.points() {
			return ""
		}
	}
	return "small"
}

func htmlSpans(t text) []htmlSpan {
	out := make([]htmlSpan, 0, len(t))
	for _, s := range t {
		hs := htmlSpan{Text: s.text, Mark: s.style == mark}
		switch s.style {
		case strong:
			hs.Class = "strong"
		case big:
			hs.Class = "big"
		case small:
			hs.Class = "small"
		case smallStrong:
			hs.Class = "small strong"
		case mark:
			hs.Class = "small"
		}
		out = append(out, hs)
	}
	return out
}
