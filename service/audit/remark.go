package audit

import (
	"fmt"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// remark gives the signs that a record shows, and counts them. A sign that could
// have shown counts as a chance.
func (a *Auditor) remark(e *Entry, index int64, at location) []*pb.AuditRemark {
	var remarks []*pb.AuditRemark
	chance := func(sign pb.AuditSign) {
		for _, t := range at.tallies {
			t.Chances[sign]++
		}
	}
	show := func(sign pb.AuditSign, earlier int64, format string, args ...any) {
		for _, t := range at.tallies {
			t.Shown[sign]++
		}
		remark := &pb.AuditRemark{Sign: sign, Because: phrase.Sentence(format, args...)}
		if earlier >= 0 {
			remark.EarlierIndex = &earlier
		}
		remarks = append(remarks, remark)
		a.example(at.person, sign, index)
	}
	unit := unitOf(e.record)
	a.seekRepeat(e, index, unit, at, chance, show)
	if e.paced {
		sign := pb.AuditSign_AUDIT_SIGN_FASTER_THAN_LEAST_TIME
		chance(sign)
		if e.took < e.leastTime {
			show(sign, -1, "The work took %s, and the sheet says %s at least", minutes(e.took), minutes(e.leastTime))
		}
	}
	if e.timed {
		sign := pb.AuditSign_AUDIT_SIGN_TIMES_OUT_OF_ORDER
		chance(sign)
		if e.outOfOrder() {
			show(sign, -1, "Its time stamps contradict the order of the work, or lie outside the job")
		}
	}
	a.seekInstrument(e, index, unit, at, chance, show)
	a.seekVIN(e, index, unit, at, chance, show)
	if e.checked {
		sign := pb.AuditSign_AUDIT_SIGN_FINER_THAN_INSTRUMENT
		chance(sign)
		if e.finer != "" {
			show(sign, -1, "A value is finer than its instrument shows: %s", e.finer)
		}
	}
	return remarks
}

type (
	chanceFunc func(sign pb.AuditSign)
	showFunc   func(sign pb.AuditSign, earlier int64, format string, args ...any)
)

// example notes a record that shows a sign.
func (a *Auditor) example(person int32, sign pb.AuditSign, index int64) {
	shown := a.Shown[person]
	if shown == nil {
		shown = new(examples)
		a.Shown[person] = shown
	}
	if len(shown[sign]) < mostExamples {
		shown[sign] = append(shown[sign], index)
	}
}

// number is how people count records: from 1.
func number(index int64) int64 { return index + 1 }

// minutes says how long something took, never longer than it did.
func minutes(d time.Duration) string {
	whole, seconds := d/time.Minute, d%time.Minute/time.Second
	if seconds == 0 {
		return fmt.Sprintf("%d min", whole)
	}
	return fmt.Sprintf("%d min %d s", whole, seconds)
}
