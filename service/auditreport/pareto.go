package auditreport

import (
	"html/template"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// shownFindings are the kinds of finding that a reader sees before a fold.
const shownFindings = 15

func (b *builder) pareto() *table {
	if len(b.s.GetPareto()) == 0 {
		return nil
	}
	t := b.paretoTable("Findings by kind, most frequent first", false, b.s.GetPareto())
	return &t
}

func (b *builder) paretoFine() *folded {
	if len(b.s.GetParetoCharacteristics()) == 0 {
		return nil
	}
	t := b.paretoTable("Findings by kind and characteristic, most frequent first", true, b.s.GetParetoCharacteristics())
	f := b.fold(t, shownFindings, "line")
	return &f
}

func (b *builder) paretoTable(caption string, fine bool, lines []*pb.AuditFindingCount) table {
	t := table{ID: b.tableID(), Caption: caption, Class: "pareto", Scroll: true, Columns: []column{head("Finding")}}
	if fine {
		t.Columns = append(t.Columns, head("Characteristic"))
	}
	t.Columns = append(t.Columns, head("Worst severity"), figures("Findings"), figures("Share"), figures("Cumu\u00adlative"),
		column{Head: "Share (bar) and cumulative (line)", Class: "axis", SVG: shareAxis()})
	cumulative := func(i int) float64 {
		if i < 0 || i >= len(lines) || !finite(lines[i].GetCumulativeShare()) {
			return -1
		}
		return lines[i].GetCumulativeShare()
	}
	for i, f := range lines {
		row := []cell{text(phrase.UpperFirst(codeWords(f.GetCode())))}
		if fine {
			name := f.GetDisplayName()
			if name == "" && f.GetCharacteristic() != "" {
				name = b.name(f.GetCharacteristic())
			}
			row = append(row, text(nameOr(name, "the whole record")))
		}
		severity := none
		if f.GetSeverity() != pb.Severity_SEVERITY_UNSPECIFIED {
			severity = phrase.Words(f.GetSeverity())
		}
		row = append(row, text(severity), countCell(f.GetFindingCount()), figureCell(percent(f.GetShare())),
			figureCell(percent(f.GetCumulativeShare())), plotCell(paretoPlot(f.GetShare(), cumulative(i-1), cumulative(i), cumulative(i+1))))
		t.Rows = append(t.Rows, row)
	}
	return t
}

func shareAxis() template.HTML {
	p := &picture{width: plotWidth, height: 16}
	p.text("tick", "start", 0, 12, wholePercent(0))
	p.text("tick", "end", plotWidth, 12, wholePercent(1))
	return p.beside()
}

// paretoPlot draws one row: its bar, and the part of the cumulative line that
// lies in this row. Each part ends half-way to its neighbour at the row's edge,
// so that the line goes through whatever height the rows have. A neighbour that
// does not exist is negative.
func paretoPlot(share, before, here, after float64) template.HTML {
	p := &picture{width: 100, height: 10}
	if finite(share) {
		p.rect("bar", 0, 2.2, min(max(share, 0), 1)*100, 5.6)
	}
	p.line("half", 50, 0, 50, 10)
	if here >= 0 {
		middle := point{min(here, 1) * 100, 5}
		if before >= 0 {
			p.trace("run", []point{{(min(before, 1)*100 + middle.x) / 2, 0}, middle})
		}
		if after >= 0 {
			p.trace("run", []point{middle, {(min(after, 1)*100 + middle.x) / 2, 10}})
		}
		// A line without length has round ends: a dot whatever the cell's shape.
		p.line("bead", middle.x, middle.y, middle.x, middle.y)
	}
	return p.stretched()
}
