package jobplan

import (
	"math"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// figure is what a characteristic asks for in numbers, in the unit of its
// limits.
type figure struct {
	phrase.Measure
	// lower and upper are infinite where there is no limit.
	lower, upper float64
	// target is NaN where there is none.
	target float64
}

// figureOf returns the figure of a characteristic that has limits.
func figureOf(c *pb.Characteristic) (figure, bool) {
	limits := c.GetLimits()
	if limits == nil {
		return figure{}, false
	}
	unit, err := quantity.ParseUnit(limits.GetUnit())
	if err != nil {
		return figure{}, false // no sheet that was checked
	}
	f := figure{lower: math.Inf(-1), upper: math.Inf(1), target: math.NaN()}
	if limits.Lower != nil {
		f.lower = limits.GetLower()
	}
	if limits.Upper != nil {
		f.upper = limits.GetUpper()
	}
	switch {
	case limits.Nominal != nil:
		f.target = limits.GetNominal()
	case f.lower == f.upper:
		f.target = f.lower
	}
	f.Measure = phrase.MeasureOf(unit, f.lower, f.upper, f.target)
	return f, true
}

// aim returns the value aimed at in another unit: the target, or the middle of
// the limits. There is none for one limit alone, nor for another dimension.
func (f figure) aim(unit quantity.Unit) (float64, bool) {
	v := f.target
	if math.IsNaN(v) {
		v = (f.lower + f.upper) / 2
	}
	converted, err := f.Unit.Convert(v, unit)
	if err != nil || math.IsInf(converted, 0) || math.IsNaN(converted) {
		return 0, false
	}
	return converted, true
}

// limitsIn returns the limits in another unit.
func (f figure) limitsIn(unit quantity.Unit) (lower, upper float64, ok bool) {
	lower, err := f.Unit.Convert(f.lower, unit)
	if err != nil {
		return 0, 0, false
	}
	upper, err = f.Unit.Convert(f.upper, unit)
	return lower, upper, err == nil
}

// Units that planning data and formulas speak in.
var (
	millilitre  = quantity.MustUnit("mL")
	millimetre  = quantity.MustUnit("mm")
	metre       = quantity.MustUnit("m")
	foot        = quantity.MustUnit("[ft_i]")
	kilogram    = quantity.MustUnit("kg")
	kilopascal  = quantity.MustUnit("kPa")
	newtonPerMM = quantity.MustUnit("N/mm")
	celsius     = quantity.MustUnit("Cel")
	percent     = quantity.MustUnit("%")
	turn        = quantity.MustUnit("circ")
	plain       = quantity.MustUnit("1")
	degree      = quantity.MustUnit("deg")
	kgPerM3     = quantity.MustUnit("kg/m3")
)
