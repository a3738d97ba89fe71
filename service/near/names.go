package near

import (
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"
)

// Measure returns how many slips a name is from what was written, case
// overlooked, and whether that is near enough to offer it: at most [Offered],
// and fewer slips than were written characters, so that something of what was
// written is kept. What differs in case alone is always near. The distance
// means nothing when it is not near.
func Measure(written, name string) (distance int, near bool) {
	return measure(strings.ToLower(written), strings.ToLower(name))
}

// measure is [Measure] for texts in small letters.
func measure(written, name string) (distance int, near bool) {
	length := utf8.RuneCountInString(written)
	limit := Offered(max(length, utf8.RuneCountInString(name)))
	distance = Distance(written, name, limit)
	return distance, distance == 0 || distance <= limit && distance < length
}

// Names returns at most so many of the names that are near what was written, as
// they are spelled in the list: nearest first, those equally near in the order
// of the list, none twice.
func Names(written string, names []string, most int) []string {
	type candidate struct {
		name     string
		distance int
	}
	var candidates []candidate
	written = strings.ToLower(written)
	for _, name := range names {
		if d, near := measure(written, strings.ToLower(name)); near {
			candidates = append(candidates, candidate{name, d})
		}
	}
	slices.SortStableFunc(candidates, func(a, b candidate) int { return cmp.Compare(a.distance, b.distance) })
	var result []string
	for _, c := range candidates {
		if len(result) < most && !slices.Contains(result, c.name) {
			result = append(result, c.name)
		}
	}
	return result
}

// Name returns the first of [Names], or nothing when no name is near.
func Name(written string, names []string) string {
	if nearest := Names(written, names, 1); len(nearest) > 0 {
		return nearest[0]
	}
	return ""
}
