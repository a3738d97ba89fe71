package sheet

import (
	"slices"
	"strings"
	"time"

	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
)

// Paper is a size of paper.
type Paper int

const (
	// A4 is ISO 216 A4, 210 mm by 297 mm.
	A4 Paper = iota
	// Letter is ANSI/ASME Y14.1 A, 215.9 mm by 279.4 mm.
	Letter
)

// size returns width and height in millimetres. An unknown paper is A4.
func (p Paper) size() (w, h float64) {
	if p == Letter {
		return 215.9, 279.4
	}
	return 210, 297
}

// String returns "A4" or "Letter".
func (p Paper) String() string {
	if p == Letter {
		return "Letter"
	}
	return "A4"
}

// Options say how a sheet is made.
type Options struct {
	// Paper the sheet is laid out for.
	Paper Paper
	// Units of the values that the sheet itself puts into words and drawings. The
	// words of a plan or a report stay in the units that it was asked for in.
	Units quantity.System
	// Made is printed as the sheet's date, in its own time zone, and stands as the
	// date in the PDF. The zero time prints no date.
	Made time.Time
	// VIN of the machine, for a job sheet. Where it is empty the sheet has boxes
	// to write it in. A handover sheet takes it from the record.
	VIN string
	// Specified is what the plan of a job sheet was made from. With it, the sheet
	// draws tanks and adjusters, and its boxes suit the kind of each reading:
	// passed or failed, one of several. It may be nil, and a handover sheet does
	// not need it.
	Specified *spec.Resolved
}

// Sheet is a printed sheet, ready to be rendered. It does not change after it is
// made and is safe for concurrent use.
type Sheet struct {
	opt     Options
	kind    string // "Job sheet"
	machine string
	vin     string // empty where it is to be written in
	origin  string // what the sheet was made from, for the foot of each page
	blocks  []block
}

// Title is the sheet's title in one line, for a window or a list.
func (s *Sheet) Title() string {
	parts := []string{s.kind + ": " + s.machine}
	if s.vin != "" {
		parts = append(parts, s.vin)
	}
	return strings.Join(parts, ", ")
}

// footLine is what stands at the foot of each page, beside its number.
func (s *Sheet) footLine() string {
	parts := []string{s.kind}
	if s.origin != "" {
		parts = append(parts, s.origin)
	}
	if !s.opt.Made.IsZero() {
		parts = append(parts, "made "+s.opt.Made.Format(time.DateOnly))
	}
	return strings.Join(parts, " · ")
}

// vinLine is what stands at the head of each page, beside the machine.
func (s *Sheet) vinLine() string {
	if s.vin == "" {
		return "VIN ____________________"
	}
	return "VIN " + s.vin
}

func (s *Sheet) add(b ...block) { s.blocks = append(s.blocks, b...) }

// block is one part of a sheet, from one margin to the other.
type block interface{ isBlock() }

type (
	// heading stays with what follows it.
	heading struct {
		text string
	}

	// paragraph is running text. One that leads stays with what follows it.
	paragraph struct {
		text  text
		leads bool
	}

	// callout is a framed text that must not be missed.
	callout struct {
		weight calloutWeight
		title  string
		items  []text
	}

	// facts are labels with their values, two beside each other.
	facts struct {
		items []fact
	}

	// checklist has a box to tick before each item, in columns that are read
	// downwards.
	checklist struct {
		columns int
		items   []text
	}

	// table has rows that are not cut. Its caption is for those who can not see it.
	table struct {
		caption string
		columns []column
		rows    []row
	}

	// figure is a drawing with its caption.
	figure struct {
		drawing *Drawing
		caption text
	}

	// signatures are lines to sign on.
	signatures struct {
		labels []string
	}
)

func (heading) isBlock()    {}
func (paragraph) isBlock()  {}
func (callout) isBlock()    {}
func (facts) isBlock()      {}
func (checklist) isBlock()  {}
func (table) isBlock()      {}
func (figure) isBlock()     {}
func (signatures) isBlock() {}

type calloutWeight int

const (
	// plainCallout has a thin frame.
	plainCallout calloutWeight = iota
	// cautionCallout has a bar at its left and a caution's mark.
	cautionCallout
	// loudCallout is white on black.
	loudCallout
	// verdictCallout has a heavy frame.
	verdictCallout
)

// fact is a label with its value, or with a line to write it on.
type fact struct {
	label string
	value string
	blank bool
	// drawing takes the place of the value.
	drawing *Drawing
	// wide takes both columns.
	wide bool
}

// column is one column of a table.
type column struct {
	head string
	// place is set where the head names a place on the machine, and so is a
	// heading of the document.
	place bool
	// width is its share of the table's width.
	width float64
}

// row is one row of a table. Its cells' spans add up to the number of columns.
type row struct {
	cells []cell
}

// cell is a stack of parts.
type cell struct {
	// span is how many columns it takes; nought means one.
	span int
	// names says that the cell names its row.
	names bool
	// box says that the cell is to be written in.
	box   bool
	parts []part
}

func (c cell) columns() int { return max(c.span, 1) }

// firstShare is the first column's share of the width of several.
func firstShare(columns []column) float64 {
	var total float64
	for _, c := range columns {
		total += c.width
	}
	return columns[0].width / total
}

// part is one thing in a cell: a text, a drawing, boxes to tick, or a pair.
type part interface{ isPart() }

// text is running text of one or more styles.
type text []span

// ticks are boxes to tick, one above the other.
type ticks []tick

type tick struct {
	label  string
	ticked bool
}

// pair is two stacks beside each other in a cell of two columns, aligned with
// these.
type pair struct {
	left, right []part
}

func (text) isPart()     {}
func (pair) isPart()     {}
func (ticks) isPart()    {}
func (*Drawing) isPart() {}

// span is text of one style.
type span struct {
	text  string
	style style
}

type style int

const (
	normal style = iota
	strong
	// big is a value to be read from an arm's length.
	big
	// small is what can be looked up, and need not be read each time.
	small
	// smallStrong is a label in small text.
	smallStrong
	// mark is the triangle before a caution. It is not read aloud.
	mark

	// What the renderers set on their own.
	titleText
	headingText
	placeText // also the title of a call-out
)

// plain makes a text of one style.
func plain(s string) text { return text{{s, normal}} }

func styled(s string, st style) text { return text{{s, st}} }

// cautionMark stands before a caution, as a shape and not as a colour.
const cautionMark = "▲"

// caution is a caution in a row.
func caution(s string) text {
	return text{{cautionMark + " ", mark}, {"Caution. ", smallStrong}, {s, small}}
}

// as gives the text's normal parts another style.
func (t text) as(st style) text {
	out := slices.Clone(t)
	for i := range out {
		if out[i].style == normal {
			out[i].style = st
		}
	}
	return out
}

// String returns the words of a text without its styles.
func (t text) String() string {
	var b strings.Builder
	for _, s := range t {
		b.WriteString(s.text)
	}
	return b.String()
}
