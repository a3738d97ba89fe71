package render

import (
	"math"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// digits are the significant digits of a value; more are shown only where two
// values that stand beside each other would otherwise read the same.
const (
	digits           = 4
	differenceDigits = 3
	mostDigits       = 12
)

var turns = quantity.MustUnit("circ")

// pick returns one side of a quantity that is said in both systems, and its
// unit. A unit that this program does not know is an empty unit and its code.
func pick(d *pb.DualQuantity, system quantity.System) (v float64, u quantity.Unit, unknown string) {
	v, code := d.GetMetricValue(), d.GetMetricUnit()
	if system == quantity.USCustomary {
		v, code = d.GetUsValue(), d.GetUsUnit()
	}
	u, err := quantity.ParseUnit(code)
	if err != nil {
		return v, u, code
	}
	return v, u, ""
}

// dual says a quantity in the units of one system.
func dual(d *pb.DualQuantity, system quantity.System) string {
	v, u, unknown := pick(d, system)
	return join(" ", value(v, u, digits), unknown)
}

// dualPair says two quantities so that they read differently if they differ.
func dualPair(a, b *pb.DualQuantity, system quantity.System) (string, string) {
	va, ua, unknownA := pick(a, system)
	vb, ub, unknownB := pick(b, system)
	sa, sb := value(va, ua, digits), value(vb, ub, digits)
	if va != vb && sa == sb {
		for n := digits; n <= mostDigits && sa == sb; n++ {
			sa, sb = quantity.Format(va, ua, n), quantity.Format(vb, ub, n)
		}
	}
	return join(" ", sa, unknownA), join(" ", sb, unknownB)
}

// value says turns in eighths where that is what they are, all else in decimals.
func value(v float64, u quantity.Unit, n int) string {
	if eighths := math.Round(v * 8); u == turns && math.Abs(v*8-eighths) < 0.08 && (eighths != 0 || v == 0) {
		return quantity.FormatTurns(v)
	}
	return quantity.Format(v, u, n)
}

// Limits says the limits of a characteristic in the units of one system:
// "20 N·m (18 to 22)", "at most 9 N·m", "2".
func Limits(l *pb.Limits, system quantity.System) string {
	if l == nil {
		return ""
	}
	unit, err := quantity.ParseUnit(l.GetUnit())
	unknown := ""
	if err != nil {
		unknown = " " + l.GetUnit()
	}
	shown := shownUnit(l, unit, system)
	full := func(v float64) string {
		if converted, err := unit.Convert(v, shown); err == nil {
			v = converted
		}
		return value(v, shown, digits) + unknown
	}
	// bare leaves the unit to a neighbour.
	bare := func(v float64) string {
		number, _, _ := strings.Cut(full(v), " ")
		return strings.TrimSuffix(number, "°")
	}
	switch {
	case l.Lower != nil && l.Upper != nil && *l.Lower == *l.Upper:
		return full(*l.Lower)
	case l.Lower != nil && l.Upper != nil && l.Nominal != nil:
		return full(*l.Nominal) + " (" + bare(*l.Lower) + " to " + bare(*l.Upper) + ")"
	case l.Lower != nil && l.Upper != nil:
		return bare(*l.Lower) + " to " + full(*l.Upper)
	}
	open := ""
	switch {
	case l.Lower != nil:
		open = "at least " + full(*l.Lower)
	case l.Upper != nil:
		open = "at most " + full(*l.Upper)
	}
	switch {
	case l.Nominal == nil:
		return open
	case open == "" || (l.Lower != nil && *l.Lower == *l.Nominal) || (l.Upper != nil && *l.Upper == *l.Nominal):
		return join(", ", full(*l.Nominal), strings.TrimSuffix(open, " "+full(*l.Nominal)))
	}
	return full(*l.Nominal) + ", " + open
}

// ReadingUnit is the unit in which a person of one system reads values beside
// these limits, as records write it; empty for a plain count. One that this program
// does not know stays that of the limits.
func ReadingUnit(l *pb.Limits, system quantity.System) string {
	unit, err := quantity.ParseUnit(l.GetUnit())
	if err != nil {
		return l.GetUnit()
	}
	return shownUnit(l, unit, system).Symbol()
}

// shownUnit goes by the largest of the limits, so that all are in one unit.
func shownUnit(l *pb.Limits, unit quantity.Unit, system quantity.System) quantity.Unit {
	scale := 0.0
	for _, v := range []*float64{l.Lower, l.Upper, l.Nominal} {
		if v != nil {
			scale = max(scale, math.Abs(*v))
		}
	}
	return unit.In(system, scale)
}

// Specified says in one phrase what a characteristic should be.
func Specified(c *pb.Characteristic, system quantity.System) string {
	switch {
	case c.GetLimits() != nil:
		return Limits(c.GetLimits(), system)
	case c.GetChoice() != nil:
		return strings.Join(c.GetChoice().GetAccepted(), " or ")
	case c.GetInspection() != nil:
		return c.GetInspection().GetCriterion()
	case c.GetIdentifier() != nil:
		return "written down, of the form " + c.GetIdentifier().GetPattern()
	}
	return ""
}
