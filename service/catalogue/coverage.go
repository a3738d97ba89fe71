package catalogue

import (
	"math"
	"slices"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/vin"
)

// alphabet holds the characters of a VIN in their order, the digits first.
const alphabet = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"

// serialAlphabet returns the characters that may stand at a place of a serial,
// from nought: the last four are digits.
func serialAlphabet(place int) string {
	if place < 2 {
		return alphabet
	}
	return alphabet[:10]
}

// coverage is a [spec.Coverage] and its size. It is immutable.
type coverage struct {
	spec.Coverage
	// width is about how many VINs are covered, whatever their check digits:
	// patterns that overlap count apart, and serials within a pattern that
	// states some of their characters as if evenly spread. It only ever compares
	// two coverages.
	width float64
}

func compileCoverage(c *pb.VinCoverage) *coverage {
	compiled := &coverage{Coverage: spec.CompileCoverage(c)}
	for _, pattern := range compiled.Patterns {
		compiled.width += compiled.widthOf(pattern.String())
	}
	return compiled
}

// widthOf is about how many VINs of one pattern are covered.
func (c *coverage) widthOf(pattern string) float64 {
	head, serial := pattern[:vin.Length-spec.SerialLength], pattern[vin.Length-spec.SerialLength:]
	count, all := 1, 1
	for place := range spec.SerialLength {
		choices := len(serialAlphabet(place))
		all *= choices
		if serial[place] == '?' {
			count *= choices
		}
	}
	from, to := 0, all
	if c.Serials.From != "" {
		from, _ = serialsBefore(c.Serials.From)
	}
	if c.Serials.To != "" {
		before, itself := serialsBefore(c.Serials.To)
		if to = before; itself {
			to++
		}
	}
	inRange := float64(max(0, to-from)) * float64(count) / float64(all)
	return math.Pow(float64(len(alphabet)), float64(strings.Count(head, "?"))) * inRange
}

// serialsBefore returns how many serials come before a bound, and whether that is
// itself one.
func serialsBefore(bound string) (n int, itself bool) {
	itself = true
	for place := range spec.SerialLength {
		choices := serialAlphabet(place)
		n *= len(choices)
		if !itself {
			continue
		}
		if at := strings.IndexByte(choices, bound[place]); at >= 0 {
			n += at
		} else { // a letter where serials have digits comes after all of them
			n += len(choices)
			itself = false
		}
	}
	return n, itself
}

// same reports whether two coverages are written alike.
func (c *coverage) same(other *coverage) bool {
	return c.Serials == other.Serials && slices.EqualFunc(c.Patterns, other.Patterns,
		func(a, b vin.Pattern) bool { return a.String() == b.String() })
}

// overlap returns a pattern of which some VINs are covered by both, "" when no
// VIN is. Check digits are not looked at.
func (c *coverage) overlap(other *coverage) string {
	from := max(c.Serials.From, other.Serials.From)
	to := c.Serials.To
	if to == "" || other.Serials.To != "" && other.Serials.To < to {
		to = other.Serials.To
	}
	for i := range c.Patterns {
		for j := range other.Patterns {
			both, ok := merge(c.Patterns[i].String(), other.Patterns[j].String())
			if !ok {
				continue
			}
			head, serial := both[:vin.Length-spec.SerialLength], both[vin.Length-spec.SerialLength:]
			if first, ok := firstSerial(serial, from, 0); ok && (to == "" || first <= to) {
				return head + first
			}
		}
	}
	return ""
}

// merge returns the pattern of what two patterns both match.
func merge(a, b string) (string, bool) {
	merged := []byte(a)
	for i := range merged {
		switch {
		case merged[i] == '?':
			merged[i] = b[i]
		case b[i] != '?' && b[i] != merged[i]:
			return "", false
		}
	}
	return string(merged), true
}

// firstSerial returns the first serial that matches a pattern and is not before
// from, unless that is empty. Both are of the places from one on.
func firstSerial(pattern, from string, place int) (string, bool) {
	if pattern == "" {
		return "", true
	}
	choices := serialAlphabet(place)
	if pattern[0] != '?' {
		choices = pattern[:1]
	}
	for i := range len(choices) {
		least := "" // any rest will do after a greater character
		switch {
		case from != "" && choices[i] < from[0]:
			continue
		case from != "" && choices[i] == from[0]:
			least = from[1:]
		}
		if rest, ok := firstSerial(pattern[1:], least, place+1); ok {
			return choices[i:i+1] + rest, true
		}
	}
	return "", false
}
