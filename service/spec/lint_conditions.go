package spec

import (
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// conditions checks that the conditions of a reading can hold together: the tens
// of their numbers are the aspect they speak of, and each has one state.
func (l *linter) conditions(path string, ch *pb.Characteristic) {
	first := map[pb.Condition]pb.Condition{}
	for _, c := range ch.GetReferenceConditions() {
		aspect := c / 10
		if other, taken := first[aspect]; taken && other != c {
			l.add(path+".reference_conditions", "got %s and %s, which exclude each other", conditionName(other), conditionName(c))
			continue
		}
		first[aspect] = c
	}
}

func conditionName(c pb.Condition) string { return strings.TrimPrefix(c.String(), "CONDITION_") }
