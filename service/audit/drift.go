package audit

import (
	"math"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/statistic"
)

// tryDrift compares the slope of readings over time in one shop with that in all
// others, so that a model that changes everywhere is no drift. The others' slope is
// that within each of them: shops differ in level, and one that comes or goes moves
// the mean of all without a drift anywhere.
func (a *Auditor) tryDrift(t *trial) (results []*pb.AuditObservation, tooSmall int64) {
	for _, c := range a.Chars {
		var shops []int32
		for _, shop := range inOrder(c.Shops) {
			if shop != pool && c.Shops[shop].Line.N > 0 {
				shops = append(shops, shop)
			}
		}
		// All but one are those before it and those after it: sums of what is in it
		// too, less what is in it, would lose their last digits.
		after := make([]slope, len(shops)+1)
		for i := len(shops) - 1; i >= 0; i-- {
			after[i] = after[i+1]
			after[i].add(c.Shops[shops[i]].Line)
		}
		var before slope
		for i, shop := range shops {
			line := c.Shops[shop].Line
			others := before
			others.merge(after[i+1])
			before.add(line)
			own, okOwn := slopeOf(line).estimate()
			theirs, okTheirs := others.estimate()
			if line.N < t.leastCount || others.within.N < t.leastCount || !okOwn || !okTheirs {
				tooSmall++
				continue
			}
			// The period over which as many points, evenly spread, would be spread
			// as these are.
			days := math.Sqrt(12 * line.SXX / float64(line.N))
			difference, se, df := own.welch(theirs)
			half := tQuantile(df) * se
			results = append(results, &pb.AuditObservation{
				Shop: a.Shops.name(shop), SpecId: c.Spec, Characteristic: c.ID, DisplayName: c.Name,
				OpportunityCount: line.N, HitCount: line.N,
				Share: own.value * days, ShareElsewhere: theirs.value * days,
				PValue: tTwoSided(difference, se, df),
				Effect: estimate(difference*days, statistic.Interval{Lower: (difference - half) * days, Upper: (difference + half) * days}),
			})
		}
	}
	return results, tooSmall
}

// slope gathers points of several shops, about the mean of each.
type slope struct {
	within statistic.Line // with means of nought
	shops  int64
}

func slopeOf(line statistic.Line) slope {
	line.MeanX, line.MeanXLow, line.MeanY, line.MeanYLow = 0, 0, 0, 0
	return slope{line, 1}
}

func (s *slope) add(line statistic.Line) { s.merge(slopeOf(line)) }

func (s *slope) merge(other slope) {
	s.within.Merge(other.within)
	s.shops += other.shops
}

// slopeEstimate is a slope with its variance, and the degrees of freedom of that.
type slopeEstimate struct{ value, variance, df float64 }

// estimate fits one slope to all shops, each with its own level.
func (s slope) estimate() (slopeEstimate, bool) {
	fit, err := s.within.Fit()
	df := float64(s.within.N - s.shops - 1)
	if err != nil || df < 1 {
		return slopeEstimate{}, false
	}
	return slopeEstimate{fit.Slope, fit.SlopeSE * fit.SlopeSE * float64(fit.DF) / df, df}, true
}

// welch gives the difference of two slopes, its standard error and the degrees of
// freedom of that: the two may be known differently well (Welch, Biometrika 34, 1947,
// and Satterthwaite, Biometrics Bulletin 2, 1946, from memory).
func (s slopeEstimate) welch(other slopeEstimate) (difference, se, df float64) {
	sum := s.variance + other.variance
	if sum == 0 {
		return s.value - other.value, 0, s.df + other.df
	}
	u, v := s.variance/sum, other.variance/sum
	return s.value - other.value, math.Sqrt(sum), 1 / (u*u/s.df + v*v/other.df)
}

// tTwoSided is the probability that a difference is so far from nought by chance, by
// Student's t with the degrees of freedom rounded down.
func tTwoSided(difference, se, df float64) float64 {
	switch {
	case difference == 0:
		return 1
	case se == 0:
		return 0
	}
	// A line whose slope is t and whose slope's standard error is 1.
	whole := math.Floor(df)
	line := statistic.Line{N: int64(whole) + 2, SXX: 1, SXY: difference / se, RSS: whole}
	fit, err := line.Fit()
	if err != nil {
		return math.NaN()
	}
	return fit.P
}

// tQuantile is the half width of a 95 % interval in standard errors, by the first
// terms of the Cornish-Fisher expansion (from memory); for the 28 degrees of freedom
// or more that there are it is right to three digits.
func tQuantile(df float64) float64 {
	const z = 1.959963984540054
	return z + (z*z*z+z)/(4*df) + (5*z*z*z*z*z+16*z*z*z+3*z)/(96*df*df)
}
