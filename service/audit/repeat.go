package audit

import (
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// repeatShare is the share of a signature that a person's earlier record must have
// in common with it at least to be told of.
const repeatShare = 0.6

// seekRepeat looks for an earlier record of another unit with the same readings:
// among all that are remembered for one with exactly the same or the same half,
// and among the person's latest ones for one with most of them. A correction has
// no chance to show it: it repeats the record that it corrects, whose VIN may be
// what was wrong.
func (a *Auditor) seekRepeat(e *Entry, index int64, unit uint32, at location, chance chanceFunc, show showFunc) {
	if e.signature == nil {
		return
	}
	sign := pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS
	same, earlier := a.seekParts(e.signature, sighting{Record: index, Owner: at.person, Unit: unit})
	latest := a.Rings[at.person]
	if n, record := latest.nearest(e.signature, unit); n > same {
		same, earlier = n, record
	}
	if e.record.GetSupersedes() == "" {
		if len(latest) > 0 || same > 0 {
			chance(sign)
		}
		switch all := len(e.signature); {
		case same == all:
			show(sign, earlier, "All %d readings compared are those of record %d, which is of another unit", all, number(earlier))
		case isMuch(same, all), same >= leastSignature && float64(same) >= repeatShare*float64(all):
			show(sign, earlier, "%d of %d readings compared are those of record %d, which is of another unit", same, all, number(earlier))
		}
	}
	if at.person != pool {
		latest.push(kept{Record: index, Unit: unit, Signature: e.signature})
		a.Rings[at.person] = latest
	}
}

// seekParts looks for a signature among everybody's. It gives how many readings are
// the same, and in which record.
func (a *Auditor) seekParts(signature []uint32, now sighting) (same int, record int64) {
	parts, n := partsOf(signature)
	for _, p := range parts[:n] {
		now.Key, now.Weak = p.key, p.weak
		earlier, seen := a.Repeats.see(now, mostRepeatBuckets)
		switch {
		case !seen || earlier.Unit == now.Unit:
		case same > 0 && earlier.Record == record:
			same += p.size
		case p.size > same:
			same, record = p.size, earlier.Record
		}
	}
	return same, record
}

// nearest finds the record of another unit that shares most with a signature; of
// several the latest.
func (r ring) nearest(signature []uint32, unit uint32) (most int, record int64) {
	for _, k := range r {
		if k.Unit == unit {
			continue
		}
		if n := shared(k.Signature, signature); n >= most {
			most, record = n, k.Record
		}
	}
	return most, record
}
