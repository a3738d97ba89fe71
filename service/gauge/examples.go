package gauge

import (
	"slices"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// runExamples judges the sheet's examples and notes each that disagrees.
func (e *Engine) runExamples(bad *problems) {
	for i, example := range e.rev.Sheet().GetExamples() {
		path := pathOf("examples", i)
		report, err := e.Gauge(example, Options{AsOf: example.GetFinishTime().AsTime(), Units: quantity.Metric})
		if err != nil {
			bad.add(path, "%v", err)
			continue
		}
		if diff := Disagreement(example.GetExpectation(), report); diff != "" {
			bad.add(path, "%s", diff)
		}
	}
}

// Disagreement says how a report differs from what was expected, in words; it
// is empty when they agree. The codes agree when they are the same set.
func Disagreement(want *pb.Expectation, got *pb.Report) string {
	var differences []string
	if want.GetVerdict() != got.GetVerdict() {
		differences = append(differences, "verdict "+phrase.Name(got.GetVerdict())+", expected "+phrase.Name(want.GetVerdict()))
	}
	seen := map[pb.FindingCode]bool{}
	for _, f := range got.GetFindings() {
		if code := f.GetCode(); !seen[code] {
			seen[code] = true
			if !slices.Contains(want.GetCodes(), code) {
				differences = append(differences, "unexpected "+phrase.Name(code)+" ("+f.GetMessage()+")")
			}
		}
	}
	for _, code := range want.GetCodes() {
		if !seen[code] {
			differences = append(differences, "expected "+phrase.Name(code)+", not found")
		}
	}
	return strings.Join(differences, "; ")
}
