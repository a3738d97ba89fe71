package audit

import (
	"math"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/statistic"
)

// tryDigits compares a person's last digits with those of all others. Digits are
// seldom spread evenly, since readings lie close together; so each stratum is
// compared with what others have in it. Two differ from one another whichever of
// them writes as he measures; so the digits must be uneven in themselves too.
func (a *Auditor) tryDigits(t *trial) (results []*pb.AuditObservation, tooSmall int64) {
	compared := make([]digits, a.People.size())
	a.eachHand(func(person int32, own, all *hand) { compared[person].add(own, all) })
	for _, person := range a.tested() {
		d := &compared[person]
		fit, w, ok := d.compare()
		if d.n < t.leastCount || !ok {
			if d.n > 0 {
				tooSmall++
			}
			continue
		}
		o := a.observationOf(person)
		favourite := d.favourite()
		o.OpportunityCount, o.HitCount = d.n, d.own[favourite]
		o.Share, o.ShareElsewhere = float64(d.own[favourite])/float64(d.n), d.expected[favourite]/float64(d.n)
		o.PValue, o.Effect = fit.P, &pb.AuditEstimate{Value: w}
		results = append(results, o)
	}
	return results, tooSmall
}

// leastSpread is the standard deviation, in steps of the last digit, that readings
// have at least where their last digits are looked at. With less, which digits come
// up depends on where the readings lie: of normal readings with a standard deviation
// of s steps, the share of a digit differs from a tenth by up to 0.2 exp(-2 (πs/10)²)
// (the first harmonic of a wrapped normal distribution), which is 0.0086 for 4.
const leastSpread = 4

// alike are digits that rounding treats alike: whoever rounds to twos, fives or
// tens writes more of one group and less of the other, but within a group none
// more than the rest. Many people round so, to whom nothing worse can be said than
// that; so digits are compared within a group only, and 0 and 5 not at all.
var alike = [][]int{{2, 4, 6, 8}, {1, 3, 7, 9}}

// digits gathers how often each last digit was written, and how often it would
// have been if the person's readings were like those of the others.
type digits struct {
	n        int64
	own      [10]int64
	expected [10]float64 // by the others alone
	others   [10]int64
	pooled   [10]float64 // by the person and the others together
	theirs   [10]float64 // of the others, by all together
}

func (d *digits) add(h, all *hand) {
	if h.Steps.N < 2 || h.Steps.StdDev() < leastSpread || all.Steps.N-h.Steps.N < leastOthers {
		return
	}
	for _, group := range alike {
		var own, total int64
		for _, i := range group {
			own, total = own+h.Digits[i], total+all.Digits[i]
		}
		rest := total - own
		if own == 0 || rest == 0 {
			continue
		}
		d.n += own
		for _, i := range group {
			other := all.Digits[i] - h.Digits[i]
			d.own[i] += h.Digits[i]
			d.others[i] += other
			d.expected[i] += float64(own) * float64(other) / float64(rest)
			d.pooled[i] += float64(own) * float64(all.Digits[i]) / float64(total)
			d.theirs[i] += float64(rest) * float64(all.Digits[i]) / float64(total)
		}
	}
}

// compare makes the test of homogeneity, person against others, and gives Cohen's
// w of the person against what the others make expect or against even digits,
// whichever is smaller. ok is false where too little is expected of some digit.
//
// The counts of strata are summed before they are compared. The variance of a sum is
// then at most the one that the test supposes, so it errs to the safe side.
func (d *digits) compare() (fit statistic.ChiSquare, w float64, ok bool) {
	var observed []int64
	var expected []float64
	var square, unevenness float64
	free := 0
	for _, group := range alike {
		var own int64
		for _, i := range group {
			own += d.own[i]
		}
		even := float64(own) / float64(len(group))
		for _, i := range group {
			if d.pooled[i] < statistic.MinExpected || d.theirs[i] < statistic.MinExpected || d.expected[i] <= 0 {
				return fit, 0, false
			}
			observed = append(observed, d.own[i], d.others[i])
			expected = append(expected, d.pooled[i], d.theirs[i])
			square += chiSquareTerm(d.own[i], d.expected[i])
			unevenness += chiSquareTerm(d.own[i], even)
		}
		free += len(group) - 1
	}
	fit, err := statistic.ChiSquareFit(observed, expected, len(observed)-1-free)
	return fit, math.Sqrt(min(square, unevenness) / float64(max(d.n, 1))), err == nil
}

func chiSquareTerm(observed int64, expected float64) float64 {
	d := float64(observed) - expected
	return d * d / expected
}

// favourite is the digit that was written most above what was expected.
func (d *digits) favourite() int {
	best := 0
	for i := range d.own {
		if float64(d.own[i])-d.expected[i] > float64(d.own[best])-d.expected[best] {
			best = i
		}
	}
	return best
}
