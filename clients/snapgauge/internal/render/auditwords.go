package render

import (
	"math"
	"strconv"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// Grouped writes a whole number in groups of three: "12,480".
func Grouped(n int64) string {
	digits := strconv.FormatInt(n, 10)
	sign := ""
	if n < 0 {
		sign, digits = "-", digits[1:]
	}
	for at := len(digits) - 3; at > 0; at -= 3 {
		digits = digits[:at] + "," + digits[at:]
	}
	return sign + digits
}

// Many is [Grouped] with its noun, whose plural has an s: "1 record".
func Many(n int64, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return Grouped(n) + " " + noun + "s"
}

// percent writes a share to a tenth of a percent. Only nought is "0 %" and only
// the whole is "100 %".
func percent(share float64) string {
	switch {
	case !finite(share):
		return ""
	case share == 0 || share == 1:
		return strconv.FormatFloat(100*share, 'f', 0, 64) + " %"
	case share > 0 && share < 0.001:
		return "<0.1 %"
	case share > 0.999 && share < 1:
		return ">99.9 %"
	}
	return strconv.FormatFloat(100*share, 'f', 1, 64) + " %"
}

// probability writes a q-value: never as nought, never with digits that mean
// nothing.
func probability(name string, v float64) string {
	switch {
	case !finite(v) || v < 0 || v > 1:
		return ""
	case v < 0.001:
		return name + " < 0.001"
	case v < 0.1:
		return name + " = " + strconv.FormatFloat(v, 'f', 3, 64)
	}
	return name + " = " + strconv.FormatFloat(v, 'f', 2, 64)
}

// plainNumber writes a number without a unit to three digits.
func plainNumber(v float64) string {
	if !finite(v) {
		return ""
	}
	return quantity.Format(v, quantity.Unit{}, differenceDigits)
}

// between says the interval of an estimate, "0.98 to 1.26"; empty where it has
// none.
func between(e *pb.AuditEstimate, say func(float64) string) string {
	low := e != nil && e.Lower != nil && finite(e.GetLower())
	high := e != nil && e.Upper != nil && finite(e.GetUpper())
	switch {
	case low && high:
		return say(e.GetLower()) + " to " + say(e.GetUpper())
	case low:
		return "at least " + say(e.GetLower())
	case high:
		return "at most " + say(e.GetUpper())
	}
	return ""
}

// percents is [between] of shares, the unit said once.
func percents(e *pb.AuditEstimate) string {
	low, high, both := strings.Cut(between(e, percent), " to ")
	if both {
		return strings.TrimSuffix(low, " %") + " to " + high
	}
	return low
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// signName says a sign: "digit preference".
func signName(s pb.AuditSign) string {
	said := phrase.Words(s)
	if rest, ok := strings.CutPrefix(said, "vin "); ok {
		return "VIN " + rest
	}
	return said
}
