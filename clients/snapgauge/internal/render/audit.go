package render

import (
	"fmt"
	"strings"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// mostRanked is how many lines a table has that is ordered by how bad things are.
const mostRanked = 10

// Audit writes what shows over many records, the most needed first: the verdicts,
// where and at what they fall short, what is worth a look, and what was tested for
// it. It is the short form of the report: tables are cut where one would stop
// reading, and say so.
func Audit(s *pb.AuditSummary, place PlaceOf, o Options) string {
	p := o.page()
	auditHead(p, s)
	verdictTable(p, s, o)
	errorTable(p, s, o)
	shopTable(p, s, o)
	paretoTable(p, s, o)
	capabilityTable(p, s, o)
	observations(p, s, place)
	testTable(p, s, o)
	if notes := s.GetNotes(); len(notes) > 0 {
		section(p, "notes")
		for _, note := range notes {
			p.Text(0, "", note)
		}
	}
	return p.String()
}

// auditHead says what was audited, and by what.
func auditHead(p *layout.Page, s *pb.AuditSummary) {
	if t := s.GetOptions().GetTitle(); t != "" {
		p.Text(0, layout.Bold, t)
	}
	records := phrase.Many(s.GetRecordCount(), "record")
	if s.GetRecordCount() == 0 {
		records = "no records"
	}
	if first, last := day(s.GetFirstFinishTime()), day(s.GetLastFinishTime()); first != "" && last != "" {
		if first == last {
			records += ", finished on " + first
		} else {
			records += ", finished from " + first + " to " + last
		}
	}
	p.Text(0, "", records)
	o := s.GetOptions()
	by := "each by the revision in force on its day"
	if t := instant(o.GetAsOfTime()); t != "" {
		by = "each by what was in force at " + t
	}
	if o.GetSpecRevision() != "" {
		by = "each by " + typedName(o.GetSpecRevision()) + ", whatever was in force"
	}
	p.Text(0, layout.Dim, join(", ", by, prefixed("as known at ", minute(o.GetKnownTime()))))
	if versions := join(", ", prefixed("engine ", s.GetEngineVersion()), prefixed("audit ", s.GetAuditVersion())); versions != "" {
		p.Text(0, layout.Dim, versions)
	}
}

// verdictTable counts the verdicts; that of the accepted has its interval.
func verdictTable(p *layout.Page, s *pb.AuditSummary, o Options) {
	all := s.GetTotal()
	if all.GetRecordCount() == 0 {
		return
	}
	t := layout.Table{Columns: []layout.Column{
		{Title: "VERDICT", StyleOf: func(cell string) layout.Style {
			return verdictStyle(pb.Verdict(pb.Verdict_value["VERDICT_"+cell]))
		}},
		{Title: "RECORDS", Right: true}, {Title: "SHARE", Right: true}, {Title: "95 % INTERVAL", Drop: 1},
	}}
	for _, row := range []struct {
		verdict pb.Verdict
		n       int64
	}{
		{pb.Verdict_VERDICT_ACCEPT, all.GetAcceptedCount()},
		{pb.Verdict_VERDICT_REJECT, all.GetRejectedCount()},
		{pb.Verdict_VERDICT_INCOMPLETE, all.GetIncompleteCount()},
		{pb.Verdict_VERDICT_REFER, all.GetReferredCount()},
	} {
		interval := ""
		if row.verdict == pb.Verdict_VERDICT_ACCEPT {
			interval = percents(all.GetYield())
		}
		t.Rows = append(t.Rows, []string{
			phrase.Name(row.verdict), phrase.Grouped(row.n), phrase.Percent(float64(row.n) / float64(all.GetRecordCount())), interval,
		})
	}
	p.Blank()
	put(p, t, o)
}

// errorTable counts the records that could not be judged, by reason.
func errorTable(p *layout.Page, s *pb.AuditSummary, o Options) {
	if s.GetErrorCount() == 0 {
		return
	}
	t := layout.Table{Columns: []layout.Column{{Title: "NOT JUDGED"}, {Title: "RECORDS", Right: true}}}
	shown := min(len(s.GetErrors()), mostRanked)
	for _, e := range s.GetErrors()[:shown] {
		t.Rows = append(t.Rows, []string{e.GetReason(), phrase.Grouped(e.GetRecordCount())})
	}
	p.Blank()
	put(p, t, o)
	if more := len(s.GetErrors()) - shown; more > 0 {
		p.Text(0, layout.Dim, "and "+phrase.Many(int64(more), "other reason"))
	}
}

// ranked titles a table that shows the first of several: "yield by shop, worst
// first (10 of 42)".
func ranked(what string, shown, all int) string {
	if shown == all {
		return what
	}
	return fmt.Sprintf("%s (%s of %s)", what, phrase.Grouped(int64(shown)), phrase.Grouped(int64(all)))
}

// put writes a table into a page.
func put(p *layout.Page, t layout.Table, o Options) {
	for line := range strings.Lines(table(t, o)) {
		p.Line(strings.TrimSuffix(line, "\n"))
	}
}

// section writes the heading of a part, which is longer than a narrow terminal is
// wide.
func section(p *layout.Page, text string) {
	p.Blank()
	p.Text(0, layout.Bold, strings.ToUpper(text))
}
