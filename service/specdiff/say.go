package specdiff

import (
	"math"
	"strconv"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

const (
	// shownDigits are the significant digits of a value in words, as in reports.
	shownDigits = 4
	// mostDigits tell any two values apart that are worth telling apart.
	mostDigits = 12
)

var turns = quantity.MustUnit("circ")

// sayValues says values of one measure with the fewest digits, but no fewer than
// reports show, that tell those apart that differ.
func sayValues(m phrase.Measure, system quantity.System, values ...float64) []string {
	said := make([]string, len(values))
	for digits := shownDigits; ; digits++ {
		for i, v := range values {
			said[i] = sayValue(m, system, v, digits)
		}
		if digits == mostDigits || distinct(values, said) {
			return said
		}
	}
}

func sayValue(m phrase.Measure, system quantity.System, v float64, digits int) string {
	if eighths := v * 8; m.Unit == turns && math.Abs(eighths-math.Round(eighths)) < 1e-9 {
		return quantity.FormatTurns(v)
	}
	converted, unit := m.In(system, v)
	return quantity.Format(phrase.Round(converted, mostDigits), unit, digits)
}

// distinct reports whether values that differ are said differently.
func distinct(values []float64, said []string) bool {
	for i := range values {
		for j := range i {
			if differ(values[i], values[j]) && said[i] == said[j] {
				return false
			}
		}
	}
	return true
}

// sayRange says limits of which each is said already, or empty: "3 to 5 mm".
func sayRange(lower, upper string) string {
	switch {
	case lower == upper:
		return lower
	case lower == "":
		return "at most " + upper
	case upper == "":
		return "at least " + lower
	}
	number, _, _ := strings.Cut(lower, " ")
	return number + " to " + upper
}

// sayNumber writes a plain number, and nothing for nought.
func sayNumber(v float64, unit string) string {
	if v == 0 {
		return ""
	}
	text := strconv.FormatFloat(v, 'g', -1, 64)
	if unit != "" {
		text += " " + unit
	}
	return text
}

// sayTime writes an instant in UTC, midnights as days.
func sayTime(t *timestamppb.Timestamp) string {
	if t == nil {
		return ""
	}
	const day = "2 January 2006"
	at := t.AsTime()
	if at.Equal(at.Truncate(24 * time.Hour)) {
		return at.Format(day)
	}
	return at.Format(day + ", 15:04:05.999999999 UTC")
}

// sayYes says whether something is so.
func sayYes(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// sayYesOf says whether something is so of a message, and nothing without one.
func sayYesOf[T any](of *T, so bool) string {
	if of == nil {
		return ""
	}
	return sayYes(so)
}

// inSentence is a name inside a sentence.
func inSentence(name string) string { return phrase.LowerFirst(name) }

// inClause gives a text as a part of a sentence, or nothing where it is too long
// for that or is several sentences.
func inClause(text string) string {
	const longest = 200
	text = strings.TrimRight(strings.TrimSpace(text), ".")
	if len(text) > longest || strings.Contains(text, ". ") {
		return ""
	}
	return phrase.LowerFirst(text)
}
