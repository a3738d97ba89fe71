package statistic

import "math"

// SumOfSquares is one line of a table of the analysis of variance.
type SumOfSquares struct {
	DF   int64
	Sum  float64
	Mean float64 // Sum over DF
}

// AnovaResult is a one-way analysis of variance.
type AnovaResult struct {
	// Between is the spread of the groups' means, Within that of the values about
	// their group's mean.
	Between, Within SumOfSquares
	// F is Between.Mean over Within.Mean; +Inf where the groups differ and
	// nothing varies within them.
	F float64
	// P is the probability of such an F or a larger one if all groups have the
	// same mean, for normal values of equal spread.
	P float64
	// EtaSquared is the share of the whole spread that lies between the groups,
	// 0 to 1.
	EtaSquared float64
	// ResidualSD is the standard deviation within the groups, the root of
	// Within.Mean.
	ResidualSD float64
}

// Anova compares the means of groups of values from their moments. It needs at
// least two groups, each with a value, more values than groups, and values that
// are not all equal.
//
// Source: NIST/SEMATECH e-Handbook, 7.4.3.3 (from memory).
func Anova(groups []Moments) (AnovaResult, error) {
	if len(groups) < 2 {
		return AnovaResult{}, badInput("groups", float64(len(groups)), "at least 2 groups")
	}
	var r AnovaResult
	var total int64
	for i, g := range groups {
		if g.N < 1 {
			return AnovaResult{}, badInput(at("groups", i)+".N", float64(g.N), "at least 1 value")
		}
		if !finite(g.Mean) || !finite(g.MeanLow) {
			return AnovaResult{}, badInput(at("groups", i)+".Mean", g.Mean, "a finite number")
		}
		if !(g.M2 >= 0) || !finite(g.M2) {
			return AnovaResult{}, badInput(at("groups", i)+".M2", g.M2, "a finite number of at least 0")
		}
		total += g.N
		r.Within.Sum += g.M2
	}
	r.Between.DF = int64(len(groups)) - 1
	r.Within.DF = total - int64(len(groups))
	if r.Within.DF < 1 {
		return AnovaResult{}, badInput("groups", float64(total), "more values than groups")
	}

	// Means are counted from the first group's: their differences may be far
	// below the last digit of a grand mean.
	var grand float64
	for _, g := range groups {
		grand += float64(float64(g.N) / float64(total) * distance(g.Mean, g.MeanLow, groups[0].Mean, groups[0].MeanLow))
	}
	for _, g := range groups {
		d := distance(g.Mean, g.MeanLow, groups[0].Mean, groups[0].MeanLow) - grand
		r.Between.Sum += float64(float64(g.N) * d * d)
	}
	if r.Between.Sum+r.Within.Sum == 0 {
		return AnovaResult{}, badInput("groups", 0, "values that are not all equal")
	}
	r.Between.Mean = r.Between.Sum / float64(r.Between.DF)
	r.Within.Mean = r.Within.Sum / float64(r.Within.DF)
	r.F = r.Between.Mean / r.Within.Mean
	r.P = fUpper(r.F, float64(r.Between.DF), float64(r.Within.DF))
	r.EtaSquared = r.Between.Sum / (r.Between.Sum + r.Within.Sum)
	r.ResidualSD = math.Sqrt(r.Within.Mean)
	return r, nil
}
