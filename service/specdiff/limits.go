package specdiff

import (
	"math"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
)

// figures are the numbers of a characteristic in one unit. What is not stated is
// not a number.
type figures struct {
	unit                    quantity.Unit
	lower, upper, nominal   float64
	safe                    float64 // of a fill
	possibleLow, possibleUp float64
	reachLow, reachUp       float64 // of an adjuster
	step                    float64 // of an adjuster; a difference
}

// nothing states no figures.
var nothing = figures{
	lower: math.NaN(), upper: math.NaN(), nominal: math.NaN(), safe: math.NaN(), step: math.NaN(),
	possibleLow: math.NaN(), possibleUp: math.NaN(), reachLow: math.NaN(), reachUp: math.NaN(),
}

// figuresOf reads the numbers of a characteristic, which are all in the unit of
// its limits. It is not ok without one.
func figuresOf(ch *pb.Characteristic) (f figures, ok bool) {
	limits := ch.GetLimits()
	if limits == nil {
		return nothing, false
	}
	unit, err := quantity.ParseUnit(limits.GetUnit())
	if err != nil {
		return nothing, false
	}
	possible, reach := ch.GetPossible(), ch.GetAdjuster().GetMechanicalRange()
	f = nothing
	f.unit, f.lower, f.upper, f.nominal = unit, stated(limits.Lower), stated(limits.Upper), stated(limits.Nominal)
	if possible != nil {
		f.possibleLow, f.possibleUp = stated(possible.Lower), stated(possible.Upper)
	}
	if reach != nil {
		f.reachLow, f.reachUp = stated(reach.Lower), stated(reach.Upper)
	}
	if step := ch.GetAdjuster().GetStep(); step != 0 {
		f.step = step
	}
	if fill, ok, err := spec.SafeFill(ch); ok && err == nil {
		f.safe = fill
	}
	return f, true
}

func stated(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}

// points lists the figures that are points on the scale of the unit.
func (f *figures) points() []*float64 {
	return []*float64{&f.lower, &f.upper, &f.nominal, &f.safe, &f.possibleLow, &f.possibleUp, &f.reachLow, &f.reachUp}
}

// in converts the figures to the unit of others. A figure that differs by less
// than conversion can make it differ becomes the same.
func (f figures) in(others figures) (figures, error) {
	converted := f
	theirs := others.points()
	for i, p := range converted.points() {
		v, err := f.unit.Convert(*p, others.unit)
		if err != nil {
			return figures{}, err
		}
		*p = settled(v, *theirs[i])
	}
	step, err := f.unit.ConvertDifference(f.step, others.unit)
	if err != nil {
		return figures{}, err
	}
	converted.step, converted.unit = settled(step, others.step), others.unit
	return converted, nil
}

// settled gives v, or the value that it is equal to but for conversion.
func settled(v, to float64) float64 {
	const rounding = 1e-9
	if math.Abs(v-to) <= rounding*math.Max(math.Abs(v), math.Abs(to)) {
		return to
	}
	return v
}

func (f figures) measure(others ...float64) phrase.Measure {
	return phrase.MeasureOf(f.unit, append(others, f.lower, f.upper, f.nominal)...)
}

// acceptance is what is accepted of a number.
type acceptance struct {
	lower, upper, safe float64
	guarded            bool
	guard              float64
}

func (s side) acceptance(ch *pb.Characteristic, f figures) acceptance {
	orElse := func(v, open float64) float64 {
		if math.IsNaN(v) {
			return open
		}
		return v
	}
	return acceptance{
		lower:   orElse(f.lower, math.Inf(-1)),
		upper:   orElse(f.upper, math.Inf(1)),
		safe:    orElse(f.safe, math.Inf(1)),
		guarded: guarded(ch),
		guard:   s.guard,
	}
}

// within reports whether b accepts all that a accepts, whatever the uncertainty
// of the reading. The guard band lies inside the limits, but above the safe fill.
func (a acceptance) within(b acceptance) bool {
	switch {
	case a.lower < b.lower, min(a.upper, a.safe) > min(b.upper, b.safe):
		return false
	case (a.guarded || b.guarded) && a.upper > b.upper:
		return false
	case b.guarded:
		return a.guarded && a.guard >= b.guard
	}
	return true
}

func guarded(ch *pb.Characteristic) bool {
	return ch.GetDecisionRule() == pb.DecisionRule_DECISION_RULE_GUARDED_ACCEPTANCE
}

// numbers compares all that is a number with a unit.
func (c *comparison) numbers(d *change, before, after *pb.Characteristic) {
	b, hasBefore := figuresOf(before)
	a, hasAfter := figuresOf(after)
	switch {
	case hasBefore && hasAfter && b.unit.Dimension() == a.unit.Dimension():
		in, err := b.in(a)
		if err != nil {
			return // units of one dimension convert
		}
		d.effect |= inclusion(
			c.after.acceptance(after, a).within(c.before.acceptance(before, in)),
			c.before.acceptance(before, in).within(c.after.acceptance(after, a)))
		c.figures(d, in, a, b.unit.String(), a.unit.String())
		if b.unit != a.unit && len(d.clauses) == 0 {
			d.say(0, "stated in %s, was in %s; the limits are the same", a.unit, b.unit)
		}
	case hasBefore || hasAfter:
		var unitWas, unitIs string
		if hasBefore {
			unitWas = b.unit.String()
		}
		if hasAfter {
			unitIs = a.unit.String()
		}
		c.figures(d, b, a, unitWas, unitIs)
		d.effect |= shifted
	}
}

// figures notes which numbers differ. They are in one unit, or measure
// different things. The units are those that the sheets state.
func (c *comparison) figures(d *change, before, after figures, unitWas, unitIs string) {
	b, a := before.points(), after.points()
	for i, f := range []struct{ path, label string }{
		{"limits.lower", "lower limit"},
		{"limits.upper", "upper limit"},
		{"limits.nominal", "value to aim at"},
		{"capacity.safe_fill", "safe fill"},
		{"possible.lower", "least reading possible"},
		{"possible.upper", "greatest reading possible"},
		{"adjuster.mechanical_range.lower", "least position the thread or clicks allow"},
		{"adjuster.mechanical_range.upper", "greatest position the thread or clicks allow"},
	} {
		was, is := c.both(before, after, *b[i], *a[i])
		d.value(f.path, f.label, was, is)
		if f.path == "limits.nominal" {
			d.value("limits.unit", "unit of measure", unitWas, unitIs)
		}
	}
	was, is := c.both(before, after, before.step, after.step)
	d.detail("adjuster.step", "smallest step worth turning", was, is)
	c.sayFigures(d, before, after)
}

// sayFigures says in clauses which numbers differ.
func (c *comparison) sayFigures(d *change, before, after figures) {
	was, is := c.ranges(before, after)
	switch nominalWas, nominalIs := c.both(before, after, before.nominal, after.nominal); {
	case was != is && was == "":
		d.say(0, "now %s", is)
	case was != is && is == "":
		d.say(0, "no longer %s", was)
	case was != is:
		d.say(0, "%s, was %s", is, was)
	case nominalWas == nominalIs:
	case nominalWas == "":
		d.say(0, "aim at %s now", nominalIs)
	case nominalIs == "":
		d.say(0, "no value to aim at any more, was %s", nominalWas)
	default:
		d.say(0, "aim at %s, was %s", nominalIs, nominalWas)
	}
	switch safeWas, safeIs := c.both(before, after, before.safe, after.safe); {
	case safeWas == safeIs:
	case safeWas == "":
		d.say(0, "no more than %s is safe on the side stand", safeIs)
	case safeIs == "":
		d.say(0, "no safe fill stated any more, was %s", safeWas)
	default:
		d.say(0, "safe fill %s, was %s", safeIs, safeWas)
	}
	if differ(before.possibleLow, after.possibleLow) || differ(before.possibleUp, after.possibleUp) {
		d.quiet = append(d.quiet, "what a reading can be")
	}
	if differ(before.reachLow, after.reachLow) || differ(before.reachUp, after.reachUp) {
		d.details = append(d.details, "mechanical range")
	}
}

// both says one number before and after if it differs, each empty where it is not
// stated.
func (c *comparison) both(before, after figures, was, is float64) (string, string) {
	if before.unit == after.unit && !differ(was, is) {
		return "", ""
	}
	said := c.said(before, after, []float64{was}, []float64{is})
	return said[0], said[1]
}

// ranges says the limits before and after.
func (c *comparison) ranges(before, after figures) (string, string) {
	said := c.said(before, after, []float64{before.lower, before.upper}, []float64{after.lower, after.upper})
	return sayRange(said[0], said[1]), sayRange(said[2], said[3])
}

// said says numbers of two sheets in words that can be compared, those of the
// first before those of the second. What is not stated is empty.
func (c *comparison) said(before, after figures, was, is []float64) []string {
	if before.unit == after.unit {
		return c.sayStated(after.measure(append(was, before.lower, before.upper, before.nominal)...), append(was, is...))
	}
	return append(c.sayStated(before.measure(), was), c.sayStated(after.measure(), is)...)
}

func (c *comparison) sayStated(m phrase.Measure, values []float64) []string {
	said := sayValues(m, c.units, values...)
	for i, v := range values {
		if math.IsNaN(v) {
			said[i] = ""
		}
	}
	return said
}

// differ reports whether two figures differ, of which either may not be stated.
func differ(a, b float64) bool { return a != b && !(math.IsNaN(a) && math.IsNaN(b)) }
