package audit

import (
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// recordTest compares the share of a person's records that show a sign with that of
// the others.
func recordTest(compare func(*Auditor, pb.AuditSign) []comparison) func(*Auditor, *trial) ([]*pb.AuditObservation, int64) {
	return func(a *Auditor, t *trial) (results []*pb.AuditObservation, tooSmall int64) {
		all := compare(a, t.sign)
		for _, person := range a.tested() {
			c := &all[person]
			if c.n < t.leastCount || c.others < t.leastCount {
				if a.ByHand[person].Chances[t.sign] > 0 {
					tooSmall++
				}
				continue
			}
			o := a.observationOf(person)
			c.fill(o)
			if o.Effect = c.difference(); o.Share < o.ShareElsewhere {
				o.Effect = &pb.AuditEstimate{} // only more than elsewhere is a sign
			}
			if shown := a.Shown[person]; shown != nil {
				o.ExampleIndices = slices.Clone(shown[t.sign])
			}
			results = append(results, o)
		}
		return results, tooSmall
	}
}

// compareRecords compares each person's records with all others.
func (a *Auditor) compareRecords(sign pb.AuditSign) []comparison {
	all := make([]comparison, a.People.size())
	for i := range a.ByHand {
		t := &a.ByHand[i]
		all[i].add(t.Chances[sign], t.Shown[sign], a.Total.Chances[sign], a.Total.Shown[sign])
	}
	return all
}

// compareDuties compares each person's records with others judged by the same
// revision in the same phase.
func (a *Auditor) compareDuties(sign pb.AuditSign) []comparison {
	all := make([]comparison, a.People.size())
	duties := inOrder(a.Duties)
	for len(duties) > 0 {
		same := 0
		var sum tally
		for same < len(duties) && conditionsOf(duties[same]) == conditionsOf(duties[0]) {
			sum.merge(a.Duties[duties[same]])
			same++
		}
		for _, duty := range duties[:same] {
			t := a.Duties[duty]
			all[personOf(duty)].add(t.Chances[sign], t.Shown[sign], sum.Chances[sign], sum.Shown[sign])
		}
		duties = duties[same:]
	}
	return all
}
