package render

import (
	"fmt"
	"strings"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// Affected writes one set-up that another revision would judge otherwise: which
// unit, where, the verdict then and now, and the findings that are new. Full says
// also what to do about each, and which findings it would have no longer.
func Affected(s *pb.AffectedSetup, full bool, o Options) string {
	const indent = 2
	p := o.page()
	then, now := s.GetVerdictThen(), s.GetVerdictNow()
	vin := p.Ink.Write(layout.Bold, layout.Clean(s.GetUnit().GetVin()))
	verdicts := p.Ink.Write(verdictStyle(then), verdictWord(then)) + " → " + p.Ink.Write(verdictStyle(now), verdictWord(now))
	where := layout.Shorten(layout.Clean(join(", ", s.GetShop(), phrase.Phase(s.GetPhase()))), p.Width-indent)
	if first := vin + "  " + verdicts; layout.Width(first) <= p.Width {
		p.Split(first, indent, where)
	} else {
		p.Line(vin)
		p.Line(strings.Repeat(" ", indent) + verdicts)
		p.Line(strings.Repeat(" ", indent) + where)
	}
	for _, f := range s.GetNewFindings() {
		affectedFinding(p, indent, f, full, o)
	}
	if full {
		for _, f := range s.GetGoneFindings() {
			p.Note(indent, "no longer:", layout.Dim, findingName(f)+" "+phrase.Name(f.GetCode()))
		}
	}
	stored := lastPart(s.GetName())
	if s.GetSupersededBy() != "" {
		stored += ", corrected since by " + lastPart(s.GetSupersededBy())
	}
	p.Text(indent, layout.Dim, stored)
	return p.String()
}

// verdictWord says a verdict. A record that a revision cannot take has none.
func verdictWord(v pb.Verdict) string {
	if v == pb.Verdict_VERDICT_UNSPECIFIED {
		return "no verdict"
	}
	return phrase.Name(v)
}

func affectedFinding(p *layout.Page, indent int, f *pb.Finding, full bool, o Options) {
	severity := phrase.Name(f.GetSeverity())
	within := indent + margin
	lead := strings.Repeat(" ", indent) + p.Ink.Write(severityStyle(f.GetSeverity()), severity) + strings.Repeat(" ", max(margin-len(severity), 1))
	titled(p, lead, within, findingName(f), phrase.Name(f.GetCode()))
	said := figures(f, o.Units)
	if said == "" {
		said = f.GetMessage()
	}
	p.Text(within, "", said)
	if do := f.GetRemedy().GetText(); do != "" && full {
		p.Note(within, "do:", layout.Bold, do)
	}
}

// AffectedTotal says how many set-ups another revision would judge otherwise, of
// how many that were looked at, and of how many units they are.
func AffectedTotal(revision string, all []*pb.AffectedSetup, judged int, o Options) string {
	p := o.page()
	if len(all) == 0 {
		p.Text(0, "", fmt.Sprintf("none of %s would be judged otherwise by %s", counted(judged, "set-up"), revision))
		return p.String()
	}
	units := make(map[string]bool)
	corrected := 0
	for _, s := range all {
		units[s.GetUnit().GetVin()] = true
		if s.GetSupersededBy() != "" {
			corrected++
		}
	}
	said := fmt.Sprintf("%d of %s would be judged otherwise by %s, of %s", len(all), counted(judged, "set-up"), revision, counted(len(units), "unit"))
	if corrected > 0 {
		said += fmt.Sprintf("; %d corrected since", corrected)
	}
	p.Text(0, layout.Bold, said)
	return p.String()
}
