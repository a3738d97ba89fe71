package statistic

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// The survival functions of distuv's Normal and F are 1 minus the distribution
// function and lose the tail; these keep it.

// normalUpper returns the probability that a standard normal variable is above z.
func normalUpper(z float64) float64 { return math.Erfc(z/math.Sqrt2) / 2 }

// normalTwoSided returns the z of which a standard normal variable stays within
// ±z with the given confidence.
func normalTwoSided(confidence float64) float64 {
	return -distuv.UnitNormal.Quantile((1 - confidence) / 2)
}

// chiSquareUpper returns the probability that a chi-square variable with df
// degrees of freedom is above x.
func chiSquareUpper(x, df float64) float64 {
	if math.IsInf(x, 1) {
		return 0
	}
	return distuv.ChiSquared{K: df}.Survival(x)
}

// fUpper returns the probability that an F variable with df1 and df2 degrees of
// freedom is above f, which is at least 0.
func fUpper(f, df1, df2 float64) float64 {
	if math.IsInf(f, 1) {
		return 0
	}
	return betaLower(df2/2, df1/2, df2/(df2+df1*f), df1*f/(df2+df1*f))
}

// tTwoSided returns the probability that a Student t variable with df degrees of
// freedom is farther from 0 than t.
func tTwoSided(t, df float64) float64 {
	if math.IsInf(t, 0) {
		return 0
	}
	return betaLower(df/2, 0.5, df/(df+t*t), t*t/(df+t*t))
}
