package auditreport

import (
	"fmt"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// tested is what an audit tested for, so that nothing found can be told from not
// tested.
type tested struct {
	Table *table
	// Without are the signs for which the summary has no test.
	Without string
}

func (b *builder) tested() tested {
	var out tested
	had := map[pb.AuditSign]bool{}
	if len(b.s.GetTests()) > 0 {
		t := table{ID: b.tableID(), Caption: "What was tested for, and how", Class: "tests", Scroll: true, Columns: []column{
			head("Sign"), head("Came of it"), head("Test"), head("Measure of effect"),
			figures("Least count"), figures("Least effect"), figures("Greatest q"),
			figures("Tested"), figures("Too small"), figures("Told"),
		}}
		for _, test := range b.s.GetTests() {
			had[test.GetSign()] = true
			came := outcome(test)
			t.Rows = append(t.Rows, []cell{
				own(phrase.UpperFirst(signWords(test.GetSign()))), came,
				text(nameOr(test.GetMethod(), none)), text(nameOr(test.GetEffectMeasure(), none)),
				countCell(test.GetLeastCount()), figureCell(threeDigits(test.GetLeastEffect())), figureCell(threeDigits(test.GetGreatestQValue())),
				countCell(test.GetTestedCount()), countCell(test.GetTooSmallCount()), countCell(test.GetToldCount()),
			})
		}
		out.Table = &t
	}
	var without []string
	values := pb.AuditSign(0).Descriptor().Values()
	for i := range values.Len() {
		sign := pb.AuditSign(values.Get(i).Number())
		if sign != pb.AuditSign_AUDIT_SIGN_UNSPECIFIED && !had[sign] {
			without = append(without, signWords(sign))
		}
	}
	if len(without) > 0 {
		out.Without = phrase.Sentence("There was no test for: %s", phrase.All(without))
	}
	return out
}

// outcome says in words what came of a test.
func outcome(t *pb.AuditTest) cell {
	switch {
	case t.GetTestedCount() == 0 && t.GetTooSmallCount() > 0:
		return cell{Text: "Not tested", Small: "every group too small", Class: "t came"}
	case t.GetTestedCount() == 0:
		return cell{Text: "Not tested", Small: "no group could show it", Class: "t came"}
	case t.GetToldCount() == 0:
		return cell{Text: "Nothing found", Small: "in " + counted(t.GetTestedCount(), "group"), Class: "t came"}
	}
	return cell{Text: "Worth a look", Small: fmt.Sprintf("%s of %s", count(t.GetToldCount()), counted(t.GetTestedCount(), "group")), Class: "t came told"}
}
