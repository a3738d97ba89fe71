package phrase

import (
	"math"
	"strconv"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
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

// Percent writes a share to a tenth of a percent. Only nought is "0 %" and only
// the whole is "100 %". It is empty for what is no number.
func Percent(share float64) string {
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

// Probability writes a p-value or q-value: never as nought, never with digits that
// mean nothing. It is empty for what is no probability.
func Probability(v float64) string {
	switch {
	case !finite(v) || v < 0 || v > 1:
		return ""
	case v < 0.001:
		return "<0.001"
	case v < 0.1:
		return strconv.FormatFloat(v, 'f', 3, 64)
	}
	return strconv.FormatFloat(v, 'f', 2, 64)
}

// Interval says that of an estimate, "0.98 to 1.26" or, where an end is open, "at
// least 0.98"; empty where it has none. An end that is no number, or of which
// nothing is said, is open.
func Interval(e *pb.AuditEstimate, say func(float64) string) string {
	if e == nil {
		return ""
	}
	end := func(v *float64) string {
		if v == nil || !finite(*v) {
			return ""
		}
		return say(*v)
	}
	low, high := end(e.Lower), end(e.Upper)
	switch {
	case low != "" && high != "":
		return low + " to " + high
	case low != "":
		return "at least " + low
	case high != "":
		return "at most " + high
	}
	return ""
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
