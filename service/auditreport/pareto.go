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
	name := "Finding"
	if fine {
		name = "Finding and characteristic"
	}
	t := table{ID: b.tableID(), Caption: caption, Class: "pareto", Quiet: true, Scroll: true, Columns: []column{
		head(name), figures("Share"),
		{Head: "Share (bar) and cumulative (line)", Class: "axis", From: wholePercent(0), To: wholePercent(1)},
		figures("Cumu\u00adlative"), figures("Findings"), {Head: "Worst severity", Class: "word"},
	}}
	cumulative := func(i int) float64 {
		if i < 0 || i >= len(lines) || !isShare(lines[i].GetCumulativeShare()) {
			return -1
		}
		return lines[i].GetCumulativeShare()
	}
	for i, f := range lines {
		first := cell{Text: phrase.UpperFirst(phrase.Words(f.GetCode())), Free: fine}
		if fine {
			first.Small = f.GetDisplayName()
			if first.Small == "" && f.GetCharacteristic() != "" {
				first.Small = b.name(f.GetCharacteristic())
			}
			first.Small = nameOr(first.Small, "the whole record")
		}
		severity := none
		if f.GetSeverity() != pb.Severity_SEVERITY_UNSPECIFIED {
			severity = phrase.Words(f.GetSeverity())
		}
		t.Rows = append(t.Rows, []cell{
			first, figureCell(percent(f.GetShare())), plotCell(paretoPlot(f.GetShare(), cumulative(i-1), cumulative(i), cumulative(i+1))),
			figureCell(percent(f.GetCumulativeShare())), countCell(f.GetFindingCount()), {Text: severity, Class: "t word"},
		})
	}
	return t
}

// paretoPlot draws one row: its bar, and the part of the cumulative line that
// lies in this row. Each part ends half-way to its neighbour at the row's edge,
// so that the line goes through whatever height the rows have. A neighbour that
// does not exist is negative.
func paretoPlot(share, before, here, after float64) template.HTML {
	p := &picture{width: 100, height: 10}
	if share > 0 && isShare(share) {
		// A pen keeps its width where an area would be stretched with the cell.
		p.line("barline", 0, 5, share*100, 5)
	}
	p.line("half", 50, 0, 50, 10)
	if here >= 0 {
		middle := point{min(here, 1) * 100, 5}
		if before >= 0 {
			p.trace("run", []point{{(before*100 + middle.x) / 2, 0}, middle})
		}
		if after >= 0 {
			p.trace("run", []point{middle, {(after*100 + middle.x) / 2, 10}})
		}
		// A line without length has round ends: a dot whatever the cell's shape.
		p.line("bead", middle.x, middle.y, middle.x, middle.y)
	}
	return p.stretched()
}
