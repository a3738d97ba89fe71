package auditreport

import (
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// keyFigures are what a reader takes in at a glance.
type keyFigures struct {
	Empty    bool // no record was judged
	Figures  []keyFigure
	Verdicts []verdictShare
	Sentence string // the strip of verdicts, said
}

// keyFigure is one figure with its name and what to hold it against.
type keyFigure struct{ Name, Value, Small string }

// verdictShare is a segment of the strip of verdicts.
type verdictShare struct {
	Class, Name, Count, Share string
	Grow                      int64 // of the segment, in records
	Meaning                   string
}

func (b *builder) keyFigures() keyFigures {
	s, t := b.s, b.s.GetTotal()
	judged := t.GetRecordCount()
	out := keyFigures{Empty: judged == 0}
	var findings int64
	for _, f := range s.GetPareto() {
		findings += f.GetFindingCount()
	}
	var groups int64
	for _, test := range s.GetTests() {
		groups += test.GetTestedCount()
	}
	of := func(n int64) string {
		if judged == 0 {
			return ""
		}
		return percent(part(n, judged)) + " of those judged"
	}
	accepted := keyFigure{Name: "Accepted", Value: none}
	if y := t.GetYield(); judged > 0 && y != nil {
		accepted.Value = percent(y.GetValue())
		if i := bounds(y, percent); i != "" {
			accepted.Small = "95" + space + "% interval " + i
		}
	}
	perRecord := ""
	if judged > 0 {
		perRecord = plain(part(findings, judged), 2) + " to a record judged"
	}
	out.Figures = []keyFigure{
		{"Records", count(s.GetRecordCount()), count(judged) + " judged"},
		accepted,
		{"Rejected", count(t.GetRejectedCount()), of(t.GetRejectedCount())},
		{"Incomplete", count(t.GetIncompleteCount()), of(t.GetIncompleteCount())},
		{"Referred", count(t.GetReferredCount()), of(t.GetReferredCount())},
		{"Not judged", count(s.GetErrorCount()), percent(part(s.GetErrorCount(), s.GetRecordCount())) + " of all records"},
		{"Findings", count(findings), perRecord},
		{"Worth a look", count(int64(len(s.GetObservations()))), "among " + counted(groups, "group") + " tested"},
	}
	if judged == 0 {
		return out
	}
	var said []string
	for _, v := range verdictsOf(t) {
		v.Share = percent(part(v.Grow, judged))
		v.Count = count(v.Grow)
		out.Verdicts = append(out.Verdicts, v)
		said = append(said, v.Name+" "+v.Count+", "+v.Share)
	}
	out.Sentence = "Records by verdict: " + strings.Join(said, "; ") + "."
	return out
}

// verdictsOf are the verdicts of a group in the order of the report's tables.
func verdictsOf(y *pb.AuditYield) []verdictShare {
	return []verdictShare{
		{Class: "accept", Name: "Accepted", Grow: y.GetAcceptedCount(), Meaning: "the set-up is right and the record shows it"},
		{Class: "reject", Name: "Rejected", Grow: y.GetRejectedCount(), Meaning: "something is wrong"},
		{Class: "incomplete", Name: "Incomplete", Grow: y.GetIncompleteCount(), Meaning: "nothing is known to be wrong, but something required is missing"},
		{Class: "refer", Name: "Referred", Grow: y.GetReferredCount(), Meaning: "only undecided readings stand in the way: a person decides, or a better instrument is used"},
	}
}
