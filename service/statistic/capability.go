package statistic

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Index is a capability index as estimated and the interval for its true value.
type Index struct {
	Value    float64
	Interval Interval
}

// CapabilityResult says how well a process fits between its limits.
type CapabilityResult struct {
	// Cp is the distance of the limits over six standard deviations; nil where
	// there is one limit only.
	Cp *Index
	// Cpl is the distance from the lower limit to the mean over three standard
	// deviations, Cpu that from the mean to the upper limit; nil where there is no
	// such limit. They are negative where the mean lies outside.
	Cpl, Cpu *Index
	// Cpk is the smaller of Cpl and Cpu, or the one that there is.
	Cpk Index
}

// Capability returns the indices for values with the moments m and the limits
// that there are; nil is no limit. It needs at least two values that are not all
// equal and a finite limit, the lower one below the upper one. It presumes a
// stable process with normal values, and no index is better than that.
//
// The interval of Cp is exact for normal values (chi-square). Those of Cpl, Cpu
// and Cpk are the normal approximation
//
//	C ± z·√(1/(9n) + C²/(2(n-1)))
//
// which wants samples of at least about 25 and, for Cpk, disregards that it is
// the smaller of two.
//
// Source: NIST/SEMATECH e-Handbook, 6.1.6 (intervals from memory).
func Capability(m Moments, lower, upper *float64, confidence float64) (CapabilityResult, error) {
	if err := checkConfidence(confidence); err != nil {
		return CapabilityResult{}, err
	}
	if m.N < 2 {
		return CapabilityResult{}, badInput("m.N", float64(m.N), "at least 2 values")
	}
	if !(m.M2 > 0) || !finite(m.M2) {
		return CapabilityResult{}, badInput("m.M2", m.M2, "a finite number above 0: finite values that differ")
	}
	if lower == nil && upper == nil {
		return CapabilityResult{}, badInput("lower, upper", math.NaN(), "a limit")
	}
	if lower != nil && !finite(*lower) {
		return CapabilityResult{}, badInput("lower", *lower, "a finite number")
	}
	if upper != nil && !finite(*upper) {
		return CapabilityResult{}, badInput("upper", *upper, "a finite number")
	}
	if lower != nil && upper != nil && *lower >= *upper {
		return CapabilityResult{}, badInput("lower", *lower, "less than upper")
	}

	n, df, sd := float64(m.N), float64(m.N-1), m.StdDev()
	z := normalTwoSided(confidence)
	oneSided := func(room float64) *Index {
		c := room / (3 * sd)
		half := z * math.Sqrt(1/(9*n)+c*c/(2*df))
		return &Index{Value: c, Interval: Interval{Lower: c - half, Upper: c + half}}
	}
	var r CapabilityResult
	if lower != nil {
		r.Cpl = oneSided(distance(m.Mean, m.MeanLow, *lower, 0))
		r.Cpk = *r.Cpl
	}
	if upper != nil {
		r.Cpu = oneSided(distance(*upper, 0, m.Mean, m.MeanLow))
		if lower == nil || r.Cpu.Value < r.Cpk.Value {
			r.Cpk = *r.Cpu
		}
	}
	if lower != nil && upper != nil {
		cp := (*upper - *lower) / (6 * sd)
		chi := distuv.ChiSquared{K: df}
		side := (1 - confidence) / 2
		r.Cp = &Index{Value: cp, Interval: Interval{
			Lower: cp * math.Sqrt(chi.Quantile(side)/df),
			Upper: cp * math.Sqrt(chi.Quantile(1-side)/df),
		}}
	}
	return r, nil
}
