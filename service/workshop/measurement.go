package workshop

import "math"

// Interval is a closed range of values. An infinite side is open: a tolerance
// with an upper limit only has Lower -Inf. An Interval whose Lower is above its
// Upper is empty, which is what remains of a tolerance narrower than its guard
// bands.
type Interval struct {
	Lower, Upper float64
}

// Contains says whether v lies in the interval, limits included. NaN does not.
func (i Interval) Contains(v float64) bool { return v >= i.Lower && v <= i.Upper }

// Empty says whether no value at all lies in the interval; one with a NaN limit
// is empty too.
func (i Interval) Empty() bool { return !(i.Lower <= i.Upper) }

// checkTolerance refuses limits that are no tolerance: NaN, crossed, or both on
// the same infinite side.
func checkTolerance(i Interval) error {
	if math.IsNaN(i.Lower) || math.IsInf(i.Lower, 1) {
		return badInput("tolerance.Lower", i.Lower, "a finite number, or -Inf for no lower limit")
	}
	if math.IsNaN(i.Upper) || math.IsInf(i.Upper, -1) {
		return badInput("tolerance.Upper", i.Upper, "a finite number, or +Inf for no upper limit")
	}
	if i.Lower > i.Upper {
		return badInput("tolerance.Lower", i.Lower, "at most tolerance.Upper")
	}
	return nil
}

// StandardUncertaintyFromResolution returns the standard uncertainty that an
// indication's resolution (its smallest step) alone brings: the true value lies
// anywhere within half a step, so u = (resolution/2)/√3. Result in the unit of
// resolution, which must be at least 0.
//
// Source: JCGM 100:2008, F.2.2.1.
func StandardUncertaintyFromResolution(resolution float64) (float64, error) {
	if err := nonNegative("resolution", resolution); err != nil {
		return 0, err
	}
	return resolution / 2 / math.Sqrt(3), nil
}

// StandardUncertaintyFromPermissibleError returns the standard uncertainty of an
// instrument of which only the maximum permissible error ±maxError is known:
// u = maxError/√3 (rectangular). Result in the unit of maxError, which must be at
// least 0.
//
// Source: JCGM 100:2008, 4.3.7.
func StandardUncertaintyFromPermissibleError(maxError float64) (float64, error) {
	if err := nonNegative("maxError", maxError); err != nil {
		return 0, err
	}
	return maxError / math.Sqrt(3), nil
}

// StandardUncertaintyFromExpanded returns u = U/k for an expanded uncertainty
// and its coverage factor, as a calibration certificate states them. The
// expanded uncertainty must be at least 0 and k above 0.
//
// Source: JCGM 100:2008, 4.3.3.
func StandardUncertaintyFromExpanded(expanded, k float64) (float64, error) {
	if err := nonNegative("expanded", expanded); err != nil {
		return 0, err
	}
	if err := positive("k", k); err != nil {
		return 0, err
	}
	return expanded / k, nil
}

// CombineUncertainty returns the root sum of squares of standard uncertainties
// that are independent and act on the result one to one (all in its unit). With
// none it is 0. Each must be at least 0.
//
// Source: JCGM 100:2008, 5.1.2, with every sensitivity coefficient 1.
func CombineUncertainty(standard ...float64) (float64, error) {
	var sum float64
	for _, u := range standard {
		if err := nonNegative("standard", u); err != nil {
			return 0, err
		}
		sum = math.Hypot(sum, u)
	}
	return sum, nil
}

// ExpandedUncertainty returns U = k·u. The standard uncertainty u must be at
// least 0 and the coverage factor k above 0; k = 2 covers about 95 % for a
// normal distribution.
//
// Source: JCGM 100:2008, 6.2.1.
func ExpandedUncertainty(u, k float64) (float64, error) {
	if err := nonNegative("u", u); err != nil {
		return 0, err
	}
	if err := positive("k", k); err != nil {
		return 0, err
	}
	return k * u, nil
}

// GuardBand returns the length w = r·U by which an acceptance limit lies inside
// the tolerance limit. The expanded uncertainty U must be at least 0. The
// multiplier r is 1 by default in ISO 14253-1 and 0 for simple acceptance;
// negative values, by which JCGM 106 describes guarded rejection, are refused,
// because [Decide] guards both sides of a limit itself.
//
// Source: JCGM 106:2012, 8.3.2 (from memory).
func GuardBand(expanded, r float64) (float64, error) {
	if err := nonNegative("expanded", expanded); err != nil {
		return 0, err
	}
	if err := nonNegative("r", r); err != nil {
		return 0, err
	}
	return r * expanded, nil
}

// AcceptanceInterval returns the tolerance shortened by w at each limit that it
// has. It is empty when the guard bands leave nothing: then the instrument is
// too coarse for the tolerance. A NaN or negative w gives an interval that
// contains nothing, so that a mistake never accepts.
//
// Source: JCGM 106:2012, 8.3.2 (from memory).
func AcceptanceInterval(tolerance Interval, w float64) Interval {
	if !(w >= 0) {
		return Interval{Lower: math.NaN(), Upper: math.NaN()}
	}
	return Interval{Lower: tolerance.Lower + w, Upper: tolerance.Upper - w}
}

// Decision is what a reading says about a characteristic once its measurement
// uncertainty is allowed for. The zero value is Undecided, so that nothing
// conforms by omission.
type Decision uint8

const (
	// Undecided: the uncertainty straddles a limit, or the input was no number.
	Undecided Decision = iota
	// Conforming: inside the tolerance by at least the guard band.
	Conforming
	// Nonconforming: outside the tolerance by more than the guard band.
	Nonconforming
)

// String returns the word that reports use: "conforming".
func (d Decision) String() string {
	switch d {
	case Conforming:
		return "conforming"
	case Nonconforming:
		return "nonconforming"
	default:
		return "undecided"
	}
}

// Decide judges a reading with a guard band w (at least 0) on both sides of each
// limit, as ISO 14253-1 asks of a supplier proving conformity (guarded
// acceptance) and of a customer proving the opposite (guarded rejection):
//
//	Lower+w ≤ value ≤ Upper-w                Conforming
//	value < Lower-w  or  value > Upper+w     Nonconforming
//	anything between                         Undecided
//
// All boundaries belong to the more lenient side: a reading exactly w inside the
// limit conforms, one exactly w outside is undecided. With w = 0 nothing is
// undecided and a reading on the limit conforms: simple acceptance. So that
// decimal figures behave as on paper (2.1 conforms to at most 2.3 with w 0.2),
// sums with w are compared with an allowance of a few units in the last binary
// place; with w = 0 the comparison is exact.
//
// A value, limit or w that is NaN, an infinite value and a negative or infinite
// w give Undecided. Decide neither fails nor allocates.
//
// Source: ISO 14253-1:2017, clause 5 (from memory); JCGM 106:2012, 8.3 (from
// memory).
func Decide(value float64, tolerance Interval, w float64) Decision {
	if math.IsNaN(value) || math.IsInf(value, 0) || !(w >= 0) || math.IsInf(w, 1) ||
		math.IsNaN(tolerance.Lower) || math.IsNaN(tolerance.Upper) {
		return Undecided
	}
	if w == 0 {
		if tolerance.Contains(value) {
			return Conforming
		}
		return Nonconforming
	}
	aboveLower := value - tolerance.Lower // how far inside the lower limit
	belowUpper := tolerance.Upper - value
	slackLower, slackUpper := rounding(value, tolerance.Lower), rounding(value, tolerance.Upper)
	switch {
	case aboveLower >= w-slackLower && belowUpper >= w-slackUpper:
		return Conforming
	case aboveLower < -w-slackLower || belowUpper < -w-slackUpper:
		return Nonconforming
	default:
		return Undecided
	}
}

// rounding bounds the error of a difference of two decimal figures of these
// sizes in binary arithmetic.
func rounding(a, b float64) float64 {
	m := math.Abs(a)
	if !math.IsInf(b, 0) {
		m = max(m, math.Abs(b))
	}
	const ulps = 4 * 0x1p-52
	return m * ulps
}

// ConformanceProbability returns the probability, 0 to 1, that the measurand
// lies within the tolerance when the reading is value and its standard
// uncertainty u, for a normal distribution and no prior knowledge. With u = 0 it
// is 1 inside and on the limits and 0 outside. The tails keep their relative
// accuracy (about 1e-13), so 1e-20 means 1e-20.
//
// The value must be finite, u at least 0, the limits not crossed.
//
// Source: JCGM 106:2012, 7.2 to 7.4 (from memory).
func ConformanceProbability(value, u float64, tolerance Interval) (float64, error) {
	if err := finite("value", value); err != nil {
		return 0, err
	}
	if err := nonNegative("u", u); err != nil {
		return 0, err
	}
	if err := checkTolerance(tolerance); err != nil {
		return 0, err
	}
	if u == 0 {
		if tolerance.Contains(value) {
			return 1, nil
		}
		return 0, nil
	}
	a := (tolerance.Lower - value) / u
	b := (tolerance.Upper - value) / u
	switch {
	case a > 0: // both limits above the reading: the difference of two upper tails
		return max(0, upperTail(a)-upperTail(b)), nil
	case b < 0:
		return max(0, upperTail(-b)-upperTail(-a)), nil
	default:
		return max(0, 1-upperTail(-a)-upperTail(b)), nil
	}
}

// upperTail returns the probability that a standard normal variable is above z.
func upperTail(z float64) float64 { return math.Erfc(z/math.Sqrt2) / 2 }

// MeasurementCapability returns C_m = (Upper-Lower)/(4u): how much finer the
// measurement is than the tolerance. With U = 2u it is tolerance over the width
// of the coverage interval; below about 1 hardly any reading can be decided. The
// tolerance must have both limits and u be above 0.
//
// Source: JCGM 106:2012, 7.6.3 (from memory).
func MeasurementCapability(tolerance Interval, u float64) (float64, error) {
	if err := checkTolerance(tolerance); err != nil {
		return 0, err
	}
	if err := finite("tolerance.Lower", tolerance.Lower); err != nil {
		return 0, err
	}
	if err := finite("tolerance.Upper", tolerance.Upper); err != nil {
		return 0, err
	}
	if err := positive("u", u); err != nil {
		return 0, err
	}
	return (tolerance.Upper - tolerance.Lower) / (4 * u), nil
}
