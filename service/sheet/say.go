package sheet

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// This file says values as people read them.

// shownDigits are the significant digits of a value in words, as in reports.
const shownDigits = 4

var turns = quantity.MustUnit("circ")

// subject is a characteristic whose readings are numbers. Its values are in the
// unit of its limits; absent limits are infinite and an absent nominal is NaN.
type subject struct {
	c                     *pb.Characteristic
	system                quantity.System
	unit                  quantity.Unit
	lower, upper, nominal float64
}

// subjectOf returns the characteristic as a subject, and whether it is one.
func subjectOf(c *pb.Characteristic, system quantity.System) (subject, bool) {
	s := subject{c: c, system: system, lower: math.Inf(-1), upper: math.Inf(1), nominal: math.NaN()}
	limits := c.GetLimits()
	if limits == nil {
		return s, false
	}
	unit, err := quantity.ParseUnit(limits.GetUnit())
	if err != nil {
		return s, false
	}
	s.unit = unit
	if limits.Lower != nil {
		s.lower = limits.GetLower()
	}
	if limits.Upper != nil {
		s.upper = limits.GetUpper()
	}
	if limits.Nominal != nil {
		s.nominal = limits.GetNominal()
	}
	return s, true
}

func (s subject) hasLower() bool   { return !math.IsInf(s.lower, 0) }
func (s subject) hasUpper() bool   { return !math.IsInf(s.upper, 0) }
func (s subject) hasNominal() bool { return !math.IsNaN(s.nominal) }

func (s subject) contains(v float64) bool { return v >= s.lower && v <= s.upper }

func (s subject) measure() phrase.Measure {
	return phrase.MeasureOf(s.unit, s.lower, s.upper, s.nominal)
}

// say says a value with its unit.
func (s subject) say(v float64) string { return s.measure().Value(s.system, v) }

// sayRange says the limits: "3 to 5 mm", "at most 9 N·m"; empty where there are
// none.
func (s subject) sayRange() string { return s.measure().Limits(s.system, s.lower, s.upper) }

// bareNumber leaves the number of a value as said.
func bareNumber(said string) string {
	number, _, _ := strings.Cut(said, " ")
	return number
}

// sayDual says a value of a plan or a report in one system.
func sayDual(d *pb.DualQuantity, system quantity.System) string {
	v, code := d.GetMetricValue(), d.GetMetricUnit()
	if system == quantity.USCustomary {
		v, code = d.GetUsValue(), d.GetUsUnit()
	}
	unit, err := quantity.ParseUnit(code)
	switch {
	case d == nil:
		return ""
	case err != nil:
		return strings.TrimSpace(strconv.FormatFloat(v, 'g', shownDigits, 64) + " " + code)
	case unit == turns:
		return quantity.FormatTurns(v)
	}
	return quantity.Format(v, unit, shownDigits)
}

// sayTarget says what to arrive at, in one phrase.
func (s subject) sayTarget() string {
	limits := s.sayRange()
	if !s.hasNominal() || s.lower == s.upper {
		return limits
	}
	if limits == "" {
		return s.say(s.nominal)
	}
	return fmt.Sprintf("%s (%s)", s.say(s.nominal), limits)
}

// specified says in one phrase what is specified of a characteristic.
func specified(c *pb.Characteristic, system quantity.System) string {
	switch k := c.GetKind().(type) {
	case *pb.Characteristic_Choice:
		return phrase.Any(k.Choice.GetAccepted())
	case *pb.Characteristic_Inspection:
		return k.Inspection.GetCriterion()
	case *pb.Characteristic_Identifier:
		return "read off and written down"
	}
	s, ok := subjectOf(c, system)
	if !ok {
		return ""
	}
	target := s.sayTarget()
	switch k := c.GetKind().(type) {
	case *pb.Characteristic_Capacity:
		return target + " of " + phrase.LowerFirst(k.Capacity.GetFluid())
	case *pb.Characteristic_Adjuster:
		return fmt.Sprintf("%s %s from %s", target, directionWords(k.Adjuster.GetCounted()), k.Adjuster.GetReferencePosition())
	}
	return target
}

func directionWords(d pb.TurnDirection) string {
	if d == pb.TurnDirection_TURN_DIRECTION_IN {
		return "in"
	}
	return "out"
}
