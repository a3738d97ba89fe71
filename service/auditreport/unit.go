package auditreport

import (
	"math"
	"strconv"

	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// mostDigits are the significant digits of any figure, at most, and
// convertedDigits those of one that was read in another unit.
const (
	mostDigits      = 6
	convertedDigits = 4
)

// reading says the values of one characteristic, all in the one unit in which
// the reader reads values of that size.
type reading struct {
	measure  phrase.Measure
	system   quantity.System
	from, to quantity.Unit
	// symbol stands behind values. It is the code itself, as far as it is short,
	// where the unit is not known; values are then shown as they are.
	symbol string
	known  bool
}

// readingOf chooses the unit for values of that UCUM code and size.
func readingOf(code string, system quantity.System, sizes ...float64) reading {
	unit := quantity.Unit{}
	if code != "" {
		var err error
		if unit, err = quantity.ParseUnit(code); err != nil {
			return reading{symbol: shortened(code, 16)}
		}
	}
	m := phrase.MeasureOf(unit, sizes...)
	to := unit.In(system, m.Scale)
	return reading{measure: m, system: system, from: unit, to: to, symbol: to.Symbol(), known: true}
}

// at converts a value. What is not finite stays so.
func (r reading) at(v float64) float64 {
	if !r.known || !finite(v) {
		return v
	}
	converted, err := r.from.Convert(v, r.to)
	if err != nil {
		return v // a unit chosen by In never changes the dimension
	}
	return phrase.Round(converted, 12)
}

// difference converts a difference of values, which has no offset.
func (r reading) difference(d float64) float64 {
	if !r.known || !finite(d) {
		return d
	}
	converted, err := r.from.ConvertDifference(d, r.to)
	if err != nil {
		return d
	}
	return phrase.Round(converted, 12)
}

// digits are those that a single value is written with. Idle digits come of
// conversion: what was read has those that it was read with.
func (r reading) digits() int {
	if r.known && r.from != r.to {
		return convertedDigits
	}
	return mostDigits
}

// say writes a converted value with its unit.
func (r reading) say(v float64) string {
	if !finite(v) {
		return none
	}
	if r.known {
		return quantity.Format(v, r.to, r.digits())
	}
	return plain(v, r.digits()) + " " + r.symbol
}

// sayFixed writes a converted value with so many decimals and its unit, so that
// a mean shows no digits that its spread makes idle.
func (r reading) sayFixed(v float64, decimals int) string {
	if !finite(v) {
		return none
	}
	text := fixed(v, decimals)
	switch r.symbol {
	case "":
		return text
	case "°":
		return text + r.symbol
	}
	return text + space + r.symbol
}

// limits says limits as the summary gives them, of which a missing one is NaN.
// Without any it is empty.
func (r reading) limits(lower, upper float64) string {
	if r.known {
		if !finite(lower) {
			lower = math.Inf(-1)
		}
		if !finite(upper) {
			upper = math.Inf(1)
		}
		return r.measure.Limits(r.system, lower, upper)
	}
	switch {
	case finite(lower) && finite(upper):
		return plain(lower, mostDigits) + " to " + r.say(upper)
	case finite(lower):
		return "at least " + r.say(lower)
	case finite(upper):
		return "at most " + r.say(upper)
	}
	return ""
}

// decimalsFor is the number of decimals that shows a mean to a hundredth of its
// standard deviation or so.
func decimalsFor(deviation, size float64) int {
	by := math.Abs(deviation)
	if !finite(by) || by == 0 {
		by = math.Abs(size) / 100
	}
	if !finite(by) || by == 0 {
		return 0
	}
	return min(max(1-int(math.Floor(math.Log10(by))), 0), 9)
}

// fixed writes a number with so many decimals, but never more than six
// significant digits.
func fixed(v float64, decimals int) string {
	if !finite(v) {
		return none
	}
	if v != 0 {
		whole := int(math.Floor(math.Log10(math.Abs(v)))) + 1
		if whole > mostDigits {
			return plain(v, mostDigits)
		}
		decimals = min(decimals, mostDigits-whole)
	}
	text := strconv.FormatFloat(v+0, 'f', max(decimals, 0), 64)
	if f, err := strconv.ParseFloat(text, 64); err == nil && f == 0 && text[0] == '-' {
		return text[1:]
	}
	return text
}
