package quantity

import (
	"math"
	"strconv"
)

// Magnitudes outside these are written with an exponent. No workshop has them.
const (
	minPlain = 1e-9
	maxPlain = 1e15
)

// Format writes the value v of u rounded to that many significant digits,
// with its symbol: Format(8.8507, lbf·ft, 3) is "8.85 lbf·ft". Zeros after the
// last digit of the fraction are left out, as is the sign of zero. The decimal
// point is a point, negative values start with an ASCII hyphen, and there is no
// exponent from 1e-9 up to 1e15. Fewer than one digit counts as one, more than
// 17 as 17.
func Format(v float64, u Unit, digits int) string {
	number := formatNumber(v, digits)
	d := u.definition()
	switch {
	case d.symbol == "":
		return number
	case d.symbol == "°":
		return number + d.symbol
	case d.singular != "" && (number == "1" || number == "-1"):
		return number + " " + d.singular
	}
	return number + " " + d.symbol
}

func formatNumber(v float64, digits int) string {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return strconv.FormatFloat(v+0, 'g', -1, 64) // v+0 has no negative zero
	}
	digits = min(max(digits, 1), 17)
	// Rounding in decimal, then the shortest text of the result, leaves no
	// digits that the rounding did not put there.
	text := strconv.FormatFloat(v, 'e', digits-1, 64)
	rounded, err := strconv.ParseFloat(text, 64)
	if err != nil { // rounded up beyond the largest float64
		return text
	}
	if m := math.Abs(rounded); m < minPlain || m >= maxPlain {
		return strconv.FormatFloat(rounded, 'e', -1, 64)
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

var turn = MustUnit("circ")

var eighths = [8]string{"", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞"}

// FormatTurns writes turns of a screw to the nearest eighth with vulgar
// fractions: "1¼ turns", "½ turn", "3 turns", "-¾ turn". Halves of an eighth
// round away from zero. Values that are not finite, or too large to have
// eighths, are written as [Format] writes them.
func FormatTurns(turns float64) string {
	n := math.Round(math.Abs(turns) * 8)
	if math.IsNaN(n) || n >= 8*maxPlain {
		return Format(turns, turn, 6)
	}
	whole, part := int64(n)/8, int64(n)%8
	var text string
	if turns < 0 && n > 0 {
		text = "-"
	}
	if whole > 0 || part == 0 {
		text += strconv.FormatInt(whole, 10)
	}
	text += eighths[part]
	if n > 0 && n <= 8 {
		return text + " turn"
	}
	return text + " turns"
}
