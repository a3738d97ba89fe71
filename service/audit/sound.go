package audit

import (
	"cmp"
	"math"

	"github.com/snapgauge/snapgauge/service/statistic"
)

// A digest shows that a checkpoint was not damaged on the way, and not that it is an
// audit's: anybody can make one. So a ledger that was read is looked through. What is
// sound leads nowhere outside itself, is no larger than it may be, counts nothing
// more often than there are records, and has numbers that go on being numbers.

// sound reports whether the ledger is one that an audit could have left.
func (l *ledger) sound() bool {
	shops, people, revised := l.Shops.size(), l.People.size(), l.Revised.size()
	counts := counter(l.Records)
	return l.Records >= 0 && l.Records <= mostRecords && counts.hold(l.Errors) &&
		len(l.Reasons) <= mostReasons && each(l.Reasons, func(_ string, n int64) bool { return counts.hold(n) }) &&
		l.First.sound() && l.Last.sound() &&
		l.Shops.sound(mostShops, counts) && l.People.sound(mostTechnicians, counts) && l.Revised.sound(mostRevisions, counts) &&
		goesWith(l.ByShop, shops) && goesWith(l.ByHand, people) && goesWith(l.ByRev, revised) &&
		goesWith(l.Works, people) && goesWith(l.Models, revised) && within(l.Works, shops) &&
		l.Total.sound(counts) && all(l.ByShop, counts) && all(l.ByHand, counts) && all(l.ByRev, counts) &&
		soundTallies(l.ByPhase, mostPhases, counts) && soundTallies(l.ByMonth, mostMonths, counts) && each(l.ByMonth, isMonth) &&
		soundTallies(l.Duties, mostDuties, counts) && each(l.Duties, func(duty int64, _ *tally) bool {
		return duty >= 0 && duty>>40 < int64(revised) && personOf(duty) >= 0 && int(personOf(duty)) < people
	}) &&
		l.soundKinds() && l.soundChars(counts) && l.soundSeen(people, counts) &&
		l.Crowded >= 0 && l.Crowded <= l.Records<<14 && len(l.Notes) <= mostNotes
}

// counter is how many records there are: nothing that is counted once a record is
// more.
type counter int64

func (c counter) hold(counts ...int64) bool {
	for _, n := range counts {
		if n < 0 || n > int64(c) {
			return false
		}
	}
	return true
}

// goesWith reports whether a list has an item for each place of a roster; before the
// first record there is none.
func goesWith[T any](list []T, size int) bool {
	return len(list) == size || len(list) == 0 && size == 1
}

func within(places []int32, size int) bool {
	for _, p := range places {
		if p < 0 || int(p) >= size {
			return false
		}
	}
	return true
}

func each[K cmp.Ordered, V any](m map[K]V, ok func(K, V) bool) bool {
	for k, v := range m {
		if !ok(k, v) {
			return false
		}
	}
	return true
}

func keysWithin[V any](m map[int32]V, size int) bool {
	return each(m, func(k int32, _ V) bool { return k >= 0 && int(k) < size })
}

// isMonth reports whether a month is one of the years 1 to 9999.
func isMonth[V any](month int32, _ V) bool { return month >= 12 && month < 12*10_000 }

func (i instant) sound() bool {
	return i.proto().IsValid()
}

func (r *roster) sound(most int, counts counter) bool {
	return len(r.Names) <= most+1 && (len(r.Names) == 0 || r.Names[0] == "") && counts.hold(r.Pooled)
}

func (t *tally) sound(counts counter) bool {
	if !counts.hold(t.Verdicts[:]...) || !counts.hold(t.Chances[:]...) {
		return false
	}
	for sign, n := range t.Shown {
		if n < 0 || n > t.Chances[sign] {
			return false
		}
	}
	return counts.hold(t.records())
}

func all(tallies []tally, counts counter) bool {
	for i := range tallies {
		if !tallies[i].sound(counts) {
			return false
		}
	}
	return true
}

func soundTallies[K cmp.Ordered](tallies map[K]*tally, most int, counts counter) bool {
	return len(tallies) <= most && each(tallies, func(_ K, t *tally) bool { return t != nil && t.sound(counts) })
}

func (l *ledger) soundKinds() bool {
	for i := range l.Kinds {
		// A record may have many findings of a kind, but no more than readings.
		if n := l.Kinds[i].Count; n < 0 || n > l.Records<<11 {
			return false
		}
	}
	return len(l.Kinds) <= mostKinds
}

func (l *ledger) soundChars(counts counter) bool {
	for _, c := range l.Chars {
		if c == nil || !c.sound(counts, l.Shops.size(), l.People.size(), l.Revised.size()) {
			return false
		}
	}
	return len(l.Chars) <= mostCharacteristics
}

func (c *characteristic) sound(counts counter, shops, people, revised int) bool {
	soundPeriod := func(_ int32, p *period) bool {
		return p != nil && p.Outcomes.sound(counts) && soundMoments(p.Moments, counts)
	}
	if !c.Outcomes.sound(counts) || !each(c.Months, soundPeriod) || !each(c.Months, isMonth) ||
		!each(c.Revisions, soundPeriod) || !keysWithin(c.Revisions, revised) || !keysWithin(c.Shops, shops) ||
		!each(c.Shops, func(_ int32, s *shopCell) bool {
			return s != nil && s.Outcomes.sound(counts) && soundLine(s.Line, counts)
		}) {
		return false
	}
	for _, l := range c.Limits {
		if l == nil || l.Revision < 0 || int(l.Revision) >= revised || math.IsNaN(l.Lower) || math.IsNaN(l.Upper) ||
			!l.Left.sound(counts) || !l.Found.sound(counts) {
			return false
		}
	}
	for _, s := range c.Strata {
		if s == nil || !s.sound(counts, people) {
			return false
		}
	}
	return len(c.Strata) <= mostStrata
}

func (o *outcomes) sound(counts counter) bool { return counts.hold(o[:]...) && counts.hold(o.sum()) }

func (s *stratum) sound(counts counter, people int) bool {
	if !(s.Step > 0) || !keysWithin(s.Hands, people) {
		return false
	}
	var sum hand
	return each(s.Hands, func(_ int32, h *hand) bool {
		if h == nil || !h.sound(counts) {
			return false
		}
		sum.Steps.N += h.Steps.N
		sum.NominalOf += h.NominalOf
		sum.LimitOf += h.LimitOf
		return counts.hold(sum.Steps.N, sum.NominalOf, sum.LimitOf)
	})
}

func (h *hand) sound(counts counter) bool {
	digits := int64(0)
	for _, n := range h.Digits {
		if n < 0 || n > h.Steps.N {
			return false
		}
		digits += n
	}
	return digits == h.Steps.N && soundMoments(h.Steps, counts) && counts.hold(h.NominalOf, h.LimitOf) &&
		h.AtNominal >= 0 && h.AtNominal <= h.NominalOf && h.AtLimit >= 0 && h.AtLimit <= h.LimitOf
}

func (v *values) sound(counts counter) bool {
	return (v.Cells == nil || len(v.Cells) == histogramCells) && counts.hold(v.Cells...) &&
		counts.hold(v.Outside, v.Below, v.Above) && soundMoments(v.Moments, counts) && sane(v.Min) && sane(v.Max)
}

// Of numbers that are sane, 2^38 at most have sums of squares below this.
const greatestSquare = 1e215

func soundMoments(m statistic.Moments, counts counter) bool {
	return counts.hold(m.N) && sane(m.Mean) && sane(m.MeanLow) && m.M2 >= 0 && m.M2 <= greatestSquare
}

func soundLine(l statistic.Line, counts counter) bool {
	return counts.hold(l.N) && sane(l.MeanX) && sane(l.MeanXLow) && sane(l.MeanY) && sane(l.MeanYLow) &&
		l.SXX >= 0 && l.SXX <= greatestSquare && math.Abs(l.SXY) <= greatestSquare && l.RSS >= 0 && l.RSS <= greatestSquare
}

// soundSeen looks through what is remembered of single records.
func (l *ledger) soundSeen(people int, counts counter) bool {
	isRecord := func(index int64) bool { return index >= 0 && index < l.Records }
	return keysWithin(l.Shown, people) && each(l.Shown, func(_ int32, shown *examples) bool {
		if shown == nil {
			return false
		}
		for _, indices := range shown {
			if len(indices) > mostExamples {
				return false
			}
			for _, index := range indices {
				if !isRecord(index) {
					return false
				}
			}
		}
		return true
	}) && keysWithin(l.Rings, people) && each(l.Rings, func(_ int32, r ring) bool {
		for _, k := range r {
			if len(k.Signature) > mostSignature || !isRecord(k.Record) {
				return false
			}
		}
		return len(r) <= ringSize
	}) && l.VINs.sound(mostVINBuckets, counts, people) && l.Repeats.sound(mostRepeatBuckets, counts, people) &&
		l.Places.sound(mostPlaceBuckets, counts, people)
}

// sound reports whether a table is one that see could have left.
func (t *sightings) sound(mostBuckets int, counts counter, owners int) bool {
	n := len(t.Buckets)
	if n > mostBuckets || n&(n-1) != 0 || (n > 0 && n < leastBuckets) {
		return false
	}
	held := int64(0)
	for i, b := range t.Buckets {
		if len(b) > bucketSize {
			return false
		}
		for _, s := range b {
			if s.Key&uint64(n-1) != uint64(i) || s.Record < 0 || s.Record >= int64(counts) || s.Owner < 0 || int(s.Owner) >= owners {
				return false
			}
		}
		held += int64(len(b))
	}
	// A record shows no more things than it has instruments in the hours of a job.
	return held == t.Held && t.Forgotten >= 0 && t.Forgotten <= int64(counts)<<11
}
