package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// SyntaxError says that a text is no quantity.
type SyntaxError struct {
	Input  string
	Reason string // what is wrong with it, in plain words
}

func (e *SyntaxError) Error() string {
	return fmt.Sprintf("%.60q is no quantity: %s", e.Input, e.Reason)
}

// Parse reads a number with a unit: "12 N.m", "12N·m", "-3 °C", "3/8 in". A
// number without a unit is a plain number.
//
// The number is a decimal with a point, a common fraction ("1/4", "¼") or a
// whole number with one ("1 1/4", "1-1/4", "1¼"), with a sign or none; both the
// ASCII hyphen and the minus sign U+2212 are minus. A decimal comma is refused,
// since it may as well separate thousands.
//
// Two numbers with a colon are a ratio, the first divided by the second: oil
// to fuel of "1:50" is 0.02, a compression of "12.5:1" is 12.5. Which of the
// two is the oil, Parse can not know.
//
// It returns a *[SyntaxError], or a *[UnknownUnitError] when only the unit is
// wrong. The value is always finite on success.
func Parse(s string) (Quantity, error) {
	q, reason, err := parse(strings.TrimSpace(s))
	if err != nil {
		return Quantity{}, err
	}
	if reason != "" {
		return Quantity{}, &SyntaxError{Input: s, Reason: reason}
	}
	return q, nil
}

func parse(s string) (q Quantity, reason string, err error) {
	if s == "" {
		return q, "it is empty", nil
	}
	value, rest, reason := scanNumber(s)
	if reason != "" {
		return q, reason, nil
	}
	if strings.HasPrefix(rest, ",") {
		return q, "write the decimal point as a point, and thousands without a mark", nil
	}
	rest = strings.TrimLeftFunc(rest, unicode.IsSpace)
	if after, isRatio := strings.CutPrefix(rest, ":"); isRatio {
		var second float64
		second, rest, reason = scanNumber(strings.TrimLeftFunc(after, unicode.IsSpace))
		switch {
		case reason != "":
			return q, "after the colon, " + reason, nil
		case second <= 0 || value < 0:
			return q, "a ratio has a positive second part and no negative one", nil
		}
		value /= second
		rest = strings.TrimSpace(rest)
		if rest == "ratio" {
			rest = ""
		}
		if rest != "" {
			return q, "a ratio has no unit", nil
		}
	}
	if math.IsInf(value, 0) || math.IsNaN(value) {
		return q, "the number is too large", nil
	}
	if rest == "" {
		return Quantity{Value: value}, "", nil
	}
	if isNumeric(rest[0]) {
		return q, "the number goes on where a unit should stand", nil
	}
	unit, err := ParseUnit(rest)
	if err != nil {
		return q, "", err
	}
	return Quantity{Value: value, Unit: unit}, "", nil
}

// scanNumber reads the number that s starts with and returns what follows it.
func scanNumber(s string) (value float64, rest, reason string) {
	sign := 1.0
	for _, mark := range []string{"-", "−", "+"} {
		if after, ok := strings.CutPrefix(s, mark); ok {
			s = strings.TrimLeftFunc(after, unicode.IsSpace)
			if mark != "+" {
				sign = -1
			}
			break
		}
	}
	if v, after, ok := scanFraction(s); ok {
		return sign * v, after, ""
	}
	digits := decimal(s)
	if digits == "" {
		return 0, "", "there is no number"
	}
	// An error means out of range, which leaves the nearest value: zero or
	// infinity, and Parse refuses infinity.
	value, _ = strconv.ParseFloat(digits, 64)
	rest = s[len(digits):]
	if !strings.ContainsAny(digits, ".eE") {
		if v, after, ok := scanMixedPart(rest); ok {
			value, rest = value+v, after
		}
	}
	return sign * value, rest, ""
}

// scanMixedPart reads the fraction of a mixed number after its whole part:
// "1¼", "1 1/4" or "1-1/4". A part of one or more is another number instead.
func scanMixedPart(s string) (value float64, rest string, ok bool) {
	part := strings.TrimLeftFunc(s, unicode.IsSpace)
	if len(part) == len(s) {
		part = strings.TrimPrefix(part, "-")
	}
	value, rest, ok = scanFraction(part)
	return value, rest, ok && value < 1
}

// decimal returns the decimal number that s starts with: digits, a point among
// or before them, and an exponent if it is complete.
func decimal(s string) string {
	i := countDigits(s)
	seen := i
	if i < len(s) && s[i] == '.' {
		fraction := countDigits(s[i+1:])
		seen += fraction
		// A point that no digit follows belongs to what comes next.
		if fraction > 0 {
			i += 1 + fraction
		}
	}
	if seen == 0 {
		return ""
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		j := i + 1
		if j < len(s) && (s[j] == '+' || s[j] == '-') {
			j++
		}
		if n := countDigits(s[j:]); n > 0 {
			i = j + n
		}
	}
	return s[:i]
}

var vulgar = map[rune]float64{
	'½': 1. / 2, '⅓': 1. / 3, '⅔': 2. / 3, '¼': 1. / 4, '¾': 3. / 4,
	'⅕': 1. / 5, '⅖': 2. / 5, '⅗': 3. / 5, '⅘': 4. / 5, '⅙': 1. / 6, '⅚': 5. / 6,
	'⅛': 1. / 8, '⅜': 3. / 8, '⅝': 5. / 8, '⅞': 7. / 8,
}

// scanFraction reads "1/4" or "¼" at the start of s. A slash without a
// denominator after it, or with the denominator zero, makes no fraction: the
// one in "1500/min" belongs to the unit.
func scanFraction(s string) (value float64, rest string, ok bool) {
	first, size := utf8.DecodeRuneInString(s)
	if v, isVulgar := vulgar[first]; isVulgar {
		return v, s[size:], true
	}
	n := countDigits(s)
	if n == 0 || n == len(s) {
		return 0, "", false
	}
	after, isSlash := strings.CutPrefix(s[n:], "/")
	if !isSlash {
		after, isSlash = strings.CutPrefix(s[n:], "⁄")
	}
	m := countDigits(after)
	if !isSlash || m == 0 {
		return 0, "", false
	}
	numerator, errN := strconv.ParseUint(s[:n], 10, 32)
	denominator, errD := strconv.ParseUint(after[:m], 10, 32)
	if errN != nil || errD != nil || denominator == 0 {
		return 0, "", false
	}
	return float64(numerator) / float64(denominator), after[m:], true
}

func countDigits(s string) int {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return i
		}
	}
	return len(s)
}

// isNumeric reports whether a unit can not start with b, because it continues
// a number. "1/min" is a unit, but "3 1/min" reads as two numbers.
func isNumeric(b byte) bool {
	return b >= '0' && b <= '9' || b == '+' || b == '-' || b == '.' || b == ','
}
