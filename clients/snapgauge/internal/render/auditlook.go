package render

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// PlaceOf returns the file and the line of a record by its index; ok is false where
// they are not known. The line is nought where the file is the record.
type PlaceOf func(index int64) (file string, line int64, ok bool)

// observations writes what is worth a look, strongest first: why, how sure, what
// else may explain it.
func observations(p *layout.Page, s *pb.AuditSummary, place PlaceOf) {
	all := s.GetObservations()
	if len(all) == 0 {
		return
	}
	shown := min(len(all), mostRanked)
	section(p, ranked("worth a look", shown, len(all)))
	p.Text(0, layout.Dim, "Each is a reason to look and no finding of fault.")
	measures := make(map[pb.AuditSign]string)
	for _, t := range s.GetTests() {
		measures[t.GetSign()] = t.GetEffectMeasure()
	}
	indent := len(strconv.Itoa(shown)) + columnGap
	for i, o := range all[:shown] {
		p.Blank()
		p.Hang(0, strconv.Itoa(i+1), indent, "", o.GetBecause(), "")
		effect := ""
		if e := o.GetEffect(); e != nil && finite(e.GetValue()) {
			effect = join(" ", measures[o.GetSign()], plainNumber(e.GetValue()))
			if interval := phrase.Interval(e, plainNumber); interval != "" {
				effect += " (" + interval + ")"
			}
		}
		p.Text(indent, layout.Dim, join("; ", probability("q", o.GetQValue()), effect, examples(o, place)))
		if o.GetInnocentCauses() != "" {
			p.Note(indent, "other causes:", layout.Dim, o.GetInnocentCauses())
		}
	}
	if more := len(all) - shown; more > 0 {
		p.Blank()
		p.Text(0, layout.Dim, "The report has the other "+phrase.Grouped(int64(more))+" as well.")
	}
}

// examples names some records that show it, by their places: the file is said once
// for lines that follow in it. Where not all places are known, it is by their
// indices, which the report and the results have as well.
func examples(o *pb.AuditObservation, place PlaceOf) string {
	var places, indices []string
	before := ""
	for _, i := range o.GetExampleIndices() {
		indices = append(indices, strconv.FormatInt(i, 10))
		switch file, line, ok := place(i); {
		case !ok:
		case line == 0:
			places = append(places, file)
		case file == before:
			places = append(places, strconv.FormatInt(line, 10))
		default:
			places = append(places, file+":"+strconv.FormatInt(line, 10))
			before = file
		}
	}
	if len(places) < len(indices) {
		return "such as index " + strings.Join(indices, ", ")
	}
	return prefixed("such as ", strings.Join(places, ", "))
}

// testTable says what was tested for, one line for each sign, so that nothing
// found can be told from not tested.
func testTable(p *layout.Page, s *pb.AuditSummary, o Options) {
	if len(s.GetTests()) == 0 {
		return
	}
	t := layout.Table{Columns: []layout.Column{
		{Title: "TESTED FOR"}, {Title: "CAME OF IT", StyleOf: func(cell string) layout.Style {
			if strings.HasPrefix(cell, "worth a look") {
				return layout.Yellow
			}
			return ""
		}},
		{Title: "TESTED", Right: true}, {Title: "TOO SMALL", Right: true}, {Title: "MEASURE OF EFFECT", Drop: 1},
	}}
	for _, test := range s.GetTests() {
		t.Rows = append(t.Rows, []string{
			phrase.Words(test.GetSign()), cameOf(test), phrase.Grouped(test.GetTestedCount()), phrase.Grouped(test.GetTooSmallCount()), test.GetEffectMeasure(),
		})
	}
	p.Blank()
	put(p, t, o)
}

func cameOf(t *pb.AuditTest) string {
	switch {
	case t.GetTestedCount() == 0 && t.GetTooSmallCount() > 0:
		return "all too small"
	case t.GetTestedCount() == 0:
		return "could not show"
	case t.GetToldCount() == 0:
		return "nothing found"
	}
	return fmt.Sprintf("worth a look: %s", phrase.Grouped(t.GetToldCount()))
}
