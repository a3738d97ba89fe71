package render

import (
	"math"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// probability says a q-value with its name: "q = 0.012", "q < 0.001".
func probability(name string, v float64) string {
	said := phrase.Probability(v)
	if bound, ok := strings.CutPrefix(said, "<"); ok {
		return name + " < " + bound
	}
	return prefixed(name+" = ", said)
}

// plainNumber writes a number without a unit to three digits.
func plainNumber(v float64) string {
	if !finite(v) {
		return ""
	}
	return quantity.Format(v, quantity.Unit{}, differenceDigits)
}

// percents is the interval of a share, the unit said once.
func percents(e *pb.AuditEstimate) string {
	low, high, both := strings.Cut(phrase.Interval(e, phrase.Percent), " to ")
	if both {
		return strings.TrimSuffix(low, " %") + " to " + high
	}
	return low
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
