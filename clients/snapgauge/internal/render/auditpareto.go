package render

import (
	"fmt"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// mostListed is how many kinds of findings a summary lists.
const mostListed = 200

// paretoTable lists the most frequent findings, by code and characteristic, with
// their share of all findings and that of the lines so far.
func paretoTable(p *layout.Page, s *pb.AuditSummary, o Options) {
	findings := s.GetParetoCharacteristics()
	if len(findings) == 0 {
		return
	}
	shown := min(len(findings), mostRanked)
	t := layout.Table{Columns: []layout.Column{
		{Title: "SEVERITY", Drop: 1, StyleOf: func(cell string) layout.Style {
			return severityStyle(pb.Severity(pb.Severity_value["SEVERITY_"+cell]))
		}},
		{Title: "CHARACTERISTIC"}, {Title: "CODE"}, {Title: "FINDINGS", Right: true}, {Title: "SHARE", Right: true}, {Title: "SO FAR", Right: true, Drop: 2},
	}}
	for _, f := range findings[:shown] {
		name := f.GetDisplayName()
		if name == "" {
			name = f.GetCharacteristic()
		}
		if name == "" {
			name = "the whole record"
		}
		t.Rows = append(t.Rows, []string{
			phrase.Name(f.GetSeverity()), name, phrase.Name(f.GetCode()), phrase.Grouped(f.GetFindingCount()),
			phrase.Percent(f.GetShare()), phrase.Percent(f.GetCumulativeShare()),
		})
	}
	what := ranked("findings, most frequent first", shown, len(findings))
	if len(findings) >= mostListed {
		what = fmt.Sprintf("findings, most frequent first (the first %d)", shown) // how many there are is not told
	}
	section(p, what)
	put(p, t, o)
}
