package formula

import (
	"math"
	"strings"

	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

var (
	plainNumber = quantity.MustUnit("1")
	percent     = quantity.MustUnit("%")
	turns       = quantity.MustUnit("circ")
	clicks      = quantity.MustUnit("{click}")
	celsius     = quantity.MustUnit("Cel")
	kelvin      = quantity.MustUnit("K")
	degrees     = quantity.MustUnit("deg")
	millimetre  = quantity.MustUnit("mm")
	metre       = quantity.MustUnit("m")
	foot        = quantity.MustUnit("[ft_i]")
	newton      = quantity.MustUnit("N")
	newtonMetre = quantity.MustUnit("N.m")
)

// Significant digits of texts.
const (
	// exactDigits repeats what somebody wrote.
	exactDigits = 6
	// usualDigits is finer than the instruments of the trade.
	usualDigits = 4
	// torqueDigits is for torque and force: wrenches are good to some per cent,
	// and friction scatters more.
	torqueDigits = 3
)

// say writes a result for readers of a system of units.
func (r *result) say(v float64, unit quantity.Unit, units quantity.System) string {
	switch r.form {
	case ratioToOne:
		return sayRatio(v)
	case share:
		return quantity.Format(v*100, percent, r.digitsFor(unit, v*100))
	case probability:
		return sayProbability(v)
	case asStands:
		return quantity.Format(v, unit, r.digitsFor(unit, v))
	}
	shown, in := convertFor(units, v, unit, r.form == span)
	digits := r.digitsFor(in, shown)
	switch {
	case in == turns:
		return sayTurns(shown)
	case r.form == atMost:
		shown = phrase.RoundDown(shown, digits)
	}
	return quantity.Format(shown, in, digits)
}

func (r *result) digitsFor(unit quantity.Unit, v float64) int {
	if r.digits != 0 {
		return r.digits
	}
	if d := unit.Dimension(); d != newton.Dimension() && d != newtonMetre.Dimension() || math.Abs(v) >= 1000 {
		return usualDigits
	}
	return torqueDigits
}

// convertFor returns the value in the unit in which readers of a system read
// it. A difference of temperatures is in kelvins for metric readers: "10 °C"
// would be a temperature.
func convertFor(units quantity.System, v float64, unit quantity.Unit, difference bool) (float64, quantity.Unit) {
	to := unit.In(units, v)
	if !difference {
		if shown, err := unit.Convert(v, to); err == nil {
			return shown, to
		}
		return v, unit // In never changes the dimension
	}
	if to == celsius {
		to = kelvin
	}
	if shown, err := unit.ConvertDifference(v, to); err == nil {
		return shown, to
	}
	return v, unit
}

// sayNumber writes one number of an input: as it was written where the reader
// uses its unit, and otherwise converted.
func (a *argument) sayNumber(i int, units quantity.System) string {
	if a.in.mix {
		return sayRatio(a.values[i])
	}
	given := a.shown[i]
	if a.in.exact {
		return given.Quantity.String()
	}
	shown, in := convertFor(units, given.Value, given.Unit, a.in.span)
	if a.in.resolved == metre { // an altitude, which is no dimension of a machine
		shown, in = a.values[i], metre
		if units == quantity.USCustomary {
			shown, in = toFeet(shown), foot
		}
	}
	switch {
	case in == given.Unit || a.in.span && in == kelvin && given.Unit == celsius:
		return quantity.Quantity{Value: shown, Unit: in}.String()
	case in == turns:
		return sayTurns(shown)
	}
	return quantity.Format(shown, in, max(usualDigits, wholeDigits(shown)))
}

func toFeet(m float64) float64 {
	ft, err := metre.Convert(m, foot)
	if err != nil {
		return math.NaN() // both are lengths
	}
	return ft
}

// wholeDigits is how many digits stand before the decimal point, so that 12 345
// is not shortened; at most what is exact.
func wholeDigits(v float64) int {
	if math.Abs(v) < 1 {
		return 1
	}
	return min(exactDigits, int(math.Log10(math.Abs(v)))+1)
}

// sayTurns writes turns in eighths where they are as good as that on a screw,
// and in decimals where not.
func sayTurns(v float64) string {
	const unseen = 0.005 // of a turn
	if eighths := math.Round(v*8) / 8; math.Abs(v-eighths) <= unseen && (eighths != 0 || v == 0) {
		return quantity.FormatTurns(v)
	}
	return quantity.Format(v, turns, torqueDigits)
}

func sayRatio(v float64) string {
	return quantity.Format(v, plainNumber, usualDigits) + ":1"
}

// sayProbability does not round to certainty what is not certain.
func sayProbability(v float64) string {
	const next = 0.0001
	switch {
	case v > 0 && v < next:
		return "below 0.01 %"
	case v < 1 && v > 1-next:
		return "above 99.99 %"
	}
	return quantity.Format(v*100, percent, usualDigits)
}

// lowerFirst makes a description the end of a sentence; abbreviations and
// symbols keep their capital.
func lowerFirst(s string) string {
	if len(s) < 2 || s[1] < 'a' || s[1] > 'z' {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
