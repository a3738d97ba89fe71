package audit

import (
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// pileTrial compares how often a person's readings stand at a certain place with
// how often those of others do.
func pileTrial(count func(*hand) (hits, of int64)) func(*Auditor, *trial) ([]*pb.AuditObservation, int64) {
	return func(a *Auditor, t *trial) (results []*pb.AuditObservation, tooSmall int64) {
		compared := make([]comparison, a.People.size())
		a.eachHand(func(person int32, own, all *hand) {
			hits, of := count(own)
			allHits, allOf := count(all)
			if allOf-of >= leastOthers {
				compared[person].add(of, hits, allOf, allHits)
			}
		})
		for _, person := range a.tested() {
			c := &compared[person]
			if c.n < t.leastCount {
				if c.n > 0 {
					tooSmall++
				}
				continue
			}
			o := a.observationOf(person)
			c.fill(o)
			o.Effect = c.odds()
			results = append(results, o)
		}
		return results, tooSmall
	}
}
