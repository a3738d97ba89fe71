package phrase

import (
	"math"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// differenceDigits are the significant digits of a difference in a sentence.
const differenceDigits = 3

// Difference says a difference of two values: "0.1 mm". A difference of
// temperatures has no offset.
func (m Measure) Difference(system quantity.System, d float64) string {
	if m.Unit == turns {
		return quantity.FormatTurns(d)
	}
	converted, unit := m.differenceIn(system, d, m.Scale)
	return quantity.Format(Round(converted, mostDigits), unit, differenceDigits)
}

// Amount says a difference to be measured out, in the unit that fits it and not
// the values it is the difference of: 132 mL and not 0.132 L.
func (m Measure) Amount(system quantity.System, d float64) string {
	converted, unit := m.differenceIn(system, d, d)
	return quantity.Format(Round(converted, mostDigits), unit, differenceDigits)
}

// DualDifference says a difference in both systems.
func (m Measure) DualDifference(d float64) *pb.DualQuantity {
	metric, metricUnit := m.differenceIn(quantity.Metric, d, m.Scale)
	us, usUnit := m.differenceIn(quantity.USCustomary, d, m.Scale)
	return dual(metric, metricUnit, us, usUnit)
}

// Pair says two values with as many digits as it takes to tell them apart.
func (m Measure) Pair(system quantity.System, a, b float64) (string, string) {
	for digits := shownDigits; ; digits++ {
		sa, sb := m.say(system, a, digits), m.say(system, b, digits)
		if sa != sb || a == b || digits >= mostDigits {
			return sa, sb
		}
	}
}

func (m Measure) differenceIn(system quantity.System, d, scale float64) (float64, quantity.Unit) {
	unit := m.Unit.In(system, scale)
	converted, err := m.Unit.ConvertDifference(d, unit)
	if err != nil {
		return d, m.Unit // In never changes the dimension
	}
	return converted, unit
}

// RoundDown rounds a value towards nought to significant digits, in decimal.
func RoundDown(v float64, digits int) float64 {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return v
	}
	step := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-float64(digits-1))
	// A hair more, so that 0.1 stays 0.1.
	return Round(math.Trunc(v/step*(1+1e-12))*step, digits)
}
