package render

import (
	"strings"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
)

const columnGap = 2

// inColumns lists short texts in as many columns as fit, read downwards.
func inColumns(p *layout.Page, indent int, items []string) {
	cells := make([]string, len(items))
	width := 0
	for i, item := range items {
		cells[i] = layout.Shorten(layout.Clean(item), p.Width-indent)
		width = max(width, layout.Width(cells[i]))
	}
	columns := max(1, (p.Width-indent+columnGap)/(width+columnGap))
	rows := (len(cells) + columns - 1) / columns
	for r := range rows {
		line := strings.Repeat(" ", indent)
		for i := r; i < len(cells); i += rows {
			line += layout.Pad(cells[i], width+columnGap)
		}
		p.Line(line)
	}
}

// explained is one row of a list of values: what it is called, what it says, and
// what that means. The first two may be styled.
type explained struct{ name, value, meaning string }

// explainAll writes rows in three columns, the last two wrapped. A value that is
// too long for its column has its meaning below it, or before it where it has no
// name; and all have where too little room is left beside.
func explainAll(p *layout.Page, indent int, rows []explained) {
	const widestValue, narrowestMeaning = 22, 24
	name, value := 0, 0
	for _, row := range rows {
		name = max(name, layout.Width(row.name))
		if w := layout.Width(layout.Clean(row.value)); w <= widestValue {
			value = max(value, w)
		}
	}
	left := indent
	if name > 0 {
		left += name + columnGap
	}
	beside := p.Width - left - value - columnGap
	for _, row := range rows {
		lead := strings.Repeat(" ", indent)
		if name > 0 {
			lead += layout.Pad(row.name, name+columnGap)
		}
		if beside < narrowestMeaning || layout.Width(layout.Clean(row.value)) > value {
			if name == 0 {
				p.Note(left, strings.TrimSuffix(layout.Clean(row.meaning), ".")+":", layout.Dim, row.value)
				continue
			}
			p.Hang(indent, row.name, name+columnGap, "", row.value, layout.Bold)
			if row.meaning != "" {
				p.Text(2*indent, layout.Dim, row.meaning)
			}
			continue
		}
		shown := p.Ink.Write(layout.Bold, layout.Clean(row.value))
		for _, line := range layout.Wrap(row.meaning, beside) {
			p.Line(lead + layout.Pad(shown, value+columnGap) + line)
			lead, shown = strings.Repeat(" ", left), ""
		}
	}
}

// title writes the heading of a part.
func title(p *layout.Page, text string) {
	p.Blank()
	p.Line(p.Ink.Write(layout.Bold, strings.ToUpper(layout.Clean(text))))
}
