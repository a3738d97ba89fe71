package options

import (
	"strings"
	"unicode"
)

// nearest finds the option that an unknown identifier may mean: the one whose
// identifier or name is nearest, at most a third of its letters away, and the
// first on the sheet among several.
func (g *graph) nearest(id string) (place int, ok bool) {
	wanted := fold(id)
	least := -1
	for i, option := range g.options {
		for _, name := range []string{option.GetId(), option.GetDisplayName()} {
			folded := fold(name)
			limit := max(len(wanted), len(folded)) / 3
			if max(len(wanted)-len(folded), len(folded)-len(wanted)) > limit {
				continue
			}
			if d := distance(wanted, folded); d <= limit && (least < 0 || d < least) {
				place, least = i, d
			}
		}
	}
	return place, least >= 0
}

// fold leaves of a name its letters and digits, small.
func fold(name string) []rune {
	return []rune(strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, name))
}

// distance is the number of letters to put in, leave out, change or swap with
// their neighbour to make b of a, no part being touched twice.
func distance(a, b []rune) int {
	var before []int
	above := make([]int, len(b)+1)
	for j := range above {
		above[j] = j
	}
	for i := range a {
		row := make([]int, len(b)+1)
		row[0] = i + 1
		for j := range b {
			d := above[j]
			if a[i] != b[j] {
				d++
			}
			d = min(d, above[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				d = min(d, before[j-1]+1)
			}
			row[j+1] = d
		}
		before, above = above, row
	}
	return above[len(b)]
}
