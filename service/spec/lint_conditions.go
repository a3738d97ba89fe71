package spec

import (
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// conditions checks that the conditions of a reading can hold together: the tens
// of their numbers are the aspect they speak of, and each has one state.
func (l *linter) conditions(path string, ch *pb.Characteristic) {
	first := map[pb.Condition]pb.Condition{}
	for _, c := range ch.GetReferenceConditions() {
		aspect := c / 10
		if other, taken := first[aspect]; taken && other != c {
			l.add(path+".reference_conditions", "got %s and %s, which exclude each other", phrase.Name(other), phrase.Name(c))
			continue
		}
		first[aspect] = c
	}
}
