package audit

import (
	"math"

	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// originOf is what a reading is counted from in steps; infinite where there is
// nothing.
func originOf(s *gauge.Sample) float64 {
	switch {
	case s.HasNominal:
		return s.Nominal
	case !math.IsInf(s.Lower, 0):
		return s.Lower
	}
	return s.Upper
}

// leastSteps is how many steps of the last digit lie between the limits at least
// where it is asked whether readings stand at one, or agree with those of another
// unit: with fewer, many honest ones do.
const leastSteps = 8

// inLimits is a step of the reading's unit in the unit of the limits, rounded so
// that it is the same whatever was read.
func inLimits(step float64, s *gauge.Sample) float64 {
	read, limits := s.Reading.GetUnit(), s.Characteristic.GetLimits().GetUnit()
	if step == 0 || read == limits {
		return step
	}
	from, errFrom := quantity.ParseUnit(read)
	to, errTo := quantity.ParseUnit(limits)
	step, err := from.ConvertDifference(step, to)
	if errFrom != nil || errTo != nil || err != nil {
		return 0
	}
	return phrase.Round(step, 9)
}

// atNominal reports whether a reading is the nominal value, or where it was taken in
// another unit than that of the limits, the nearest that it can be.
func atNominal(s *gauge.Sample, step float64) bool {
	if !s.HasNominal {
		return false
	}
	off := math.Abs(s.Value - s.Nominal)
	if s.Reading.GetUnit() != s.Characteristic.GetLimits().GetUnit() && off <= step/2 {
		return true
	}
	return off <= 1e-9*math.Max(math.Abs(s.Nominal), step)
}

// atMiddle reports whether a reading stands in the middle of limits without a
// nominal value: a tool is set to that.
func atMiddle(s *gauge.Sample) bool {
	return !s.HasNominal && math.Abs(s.Value-(s.Lower+s.Upper)/2) <= 1e-9*math.Abs(s.Value)
}

// stepOf gives the weight of the last digit of a reading, in its own unit: what
// its instrument shows, where the record says so in that unit; nought otherwise.
// It notes a value that is finer than that.
func (e *Entry) stepOf(s *gauge.Sample) float64 {
	resolution := s.Instrument.GetResolution()
	if !(resolution > 0) || !sameUnit(s.Instrument.GetUnit(), s.Reading.GetUnit()) {
		return 0
	}
	steps := math.Abs(s.Reading.GetValue() / resolution)
	if !(steps < mostSteps) {
		return 0
	}
	e.checked = true
	if off := math.Abs(steps - math.Round(steps)); off > 1e-6 && e.finer == "" {
		e.finer = s.Characteristic.GetId()
	}
	return resolution
}

// mostSteps bounds the steps that a reading is away from nought: beyond, binary
// arithmetic does not tell whether there are parts of one.
const mostSteps = 1e8

// sameUnit reports whether two spellings are of one unit.
func sameUnit(a, b string) bool {
	if a == b {
		return true
	}
	u, errU := quantity.ParseUnit(a)
	v, errV := quantity.ParseUnit(b)
	return errU == nil && errV == nil && u == v
}
