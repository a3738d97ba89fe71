package layout

import "strings"

// Page collects lines of at most Width cells.
type Page struct {
	Width int
	Ink   Ink
	b     strings.Builder
}

// String returns what has been written.
func (p *Page) String() string { return p.b.String() }

// Line writes one line as it is, without the blanks at its end.
func (p *Page) Line(s string) {
	p.b.WriteString(strings.TrimRight(s, " ") + "\n")
}

// Blank writes an empty line.
func (p *Page) Blank() { p.b.WriteByte('\n') }

// Hang writes a text wrapped behind a label, its further lines below the first.
// Neither style covers the blanks between them. A label too long for its
// column gets a line of its own.
func (p *Page) Hang(indent int, label string, labelWidth int, labelStyle Style, s string, style Style) {
	margin := strings.Repeat(" ", indent)
	if Width(label) >= labelWidth && labelWidth > 0 {
		p.Line(margin + p.Ink.Write(labelStyle, label))
		label = ""
	}
	for _, line := range Wrap(s, p.Width-indent-labelWidth) {
		p.Line(margin + p.Ink.Write(labelStyle, label) + strings.Repeat(" ", max(labelWidth-Width(label), 0)) + p.Ink.Write(style, line))
		label = ""
	}
}

// Text writes a wrapped text behind an indent.
func (p *Page) Text(indent int, style Style, s string) {
	p.Hang(indent, "", 0, "", s, style)
}

// Note writes a text behind a label that runs into it: "do: drain it". Only the
// label is styled; further lines are set in a little.
func (p *Page) Note(indent int, label string, labelStyle Style, s string) {
	const further = 4
	label = Clean(label)
	lines := Wrap(label+" "+s, p.Width-indent)
	if len(lines) > 1 { // the first line has more room than those below it
		rest := strings.TrimPrefix(Clean(label+" "+s), lines[0])
		lines = append(lines[:1], Wrap(rest, p.Width-indent-further)...)
	}
	for i, line := range lines {
		margin := indent
		if i > 0 {
			margin += further
		} else if after, ok := strings.CutPrefix(line, label); ok {
			line = p.Ink.Write(labelStyle, label) + after
		}
		p.Line(strings.Repeat(" ", margin) + line)
	}
}

// Split writes one text at the left and one at the right, on two lines where
// one is too short for both; the right one is indented then. In a wide terminal
// the right one stays near enough for the eye to find.
func (p *Page) Split(left string, indent int, right string) {
	const near = 80
	l, r := Width(left), Width(right)
	if l+gap+r <= p.Width {
		edge := max(min(p.Width, near), l+gap+r)
		p.Line(left + strings.Repeat(" ", edge-l-r) + right)
		return
	}
	p.Line(left)
	p.Line(strings.Repeat(" ", indent) + right)
}
