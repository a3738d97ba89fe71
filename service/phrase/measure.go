package phrase

import (
	"math"
	"strconv"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

const (
	// shownDigits are the significant digits of a value in a sentence: finer than
	// the instruments of the trade, coarse enough to read.
	shownDigits = 4
	// dualDigits keep a value exact to far below any instrument, without the last
	// digits of binary arithmetic.
	dualDigits = 9
	// mostDigits tell any two values apart that are worth telling apart.
	mostDigits = 12
)

var turns = quantity.MustUnit("circ")

// Measure is how the values of one thing are said: all in the unit that fits
// its size, so that a value and its limits can be compared.
type Measure struct {
	// Unit is the unit in which values are given.
	Unit quantity.Unit
	// Scale is a typical size of the values, in Unit.
	Scale float64
}

// MeasureOf returns the measure whose scale is the largest of the values that
// are finite.
func MeasureOf(unit quantity.Unit, values ...float64) Measure {
	m := Measure{Unit: unit}
	for _, v := range values {
		if !math.IsInf(v, 0) && !math.IsNaN(v) {
			m.Scale = max(m.Scale, math.Abs(v))
		}
	}
	return m
}

// In converts a value for readers of one system.
func (m Measure) In(system quantity.System, v float64) (float64, quantity.Unit) {
	unit := m.Unit.In(system, m.Scale)
	converted, err := m.Unit.Convert(v, unit)
	if err != nil {
		return v, m.Unit // In never changes the dimension
	}
	return converted, unit
}

// Value says a value: "4.5 mm", "1¼ turns".
func (m Measure) Value(system quantity.System, v float64) string {
	return m.say(system, v, shownDigits)
}

func (m Measure) say(system quantity.System, v float64, digits int) string {
	if m.Unit == turns {
		return quantity.FormatTurns(v)
	}
	converted, unit := m.In(system, v)
	return quantity.Format(Round(converted, mostDigits), unit, digits)
}

// Limits says limits in one phrase: "3 to 5 mm", "at least 2 mm", "at most 9
// N·m". A limit that does not exist is an infinity. Without any it is empty.
func (m Measure) Limits(system quantity.System, lower, upper float64) string {
	low, high := !math.IsInf(lower, 0), !math.IsInf(upper, 0)
	switch {
	case low && high && lower == upper:
		return m.Value(system, lower)
	case low && high:
		for digits := shownDigits; ; digits++ {
			from, to := m.say(system, lower, digits), m.say(system, upper, digits)
			if from != to || digits >= mostDigits || m.Unit == turns {
				return withoutUnit(from) + " to " + to
			}
		}
	case low:
		return "at least " + m.Value(system, lower)
	case high:
		return "at most " + m.Value(system, upper)
	}
	return ""
}

// withoutUnit leaves the number of a value as said, for "3 to 5 mm".
func withoutUnit(said string) string {
	number, _, _ := strings.Cut(said, " ")
	return number
}

// Dual says a value in both systems.
func (m Measure) Dual(v float64) *pb.DualQuantity {
	metric, metricUnit := m.In(quantity.Metric, v)
	us, usUnit := m.In(quantity.USCustomary, v)
	return dual(metric, metricUnit, us, usUnit)
}

func dual(metric float64, metricUnit quantity.Unit, us float64, usUnit quantity.Unit) *pb.DualQuantity {
	return &pb.DualQuantity{
		MetricValue: Round(metric, dualDigits),
		MetricUnit:  metricUnit.Code(),
		UsValue:     Round(us, dualDigits),
		UsUnit:      usUnit.Code(),
	}
}

// Round rounds to significant digits, in decimal.
func Round(v float64, digits int) float64 {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', digits-1, 64), 64)
	if err != nil {
		return v
	}
	return rounded
}
