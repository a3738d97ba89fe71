package options

import (
	"strings"
	"unicode"

	"github.com/snapgauge/snapgauge/service/near"
)

// nearest finds the option that an unknown identifier may mean: the one whose
// identifier or name is nearest, near enough to be offered, and the first on the
// sheet among several.
func (g *graph) nearest(id string) (place int, ok bool) {
	wanted := fold(id)
	least := -1
	for i, option := range g.options {
		for _, name := range []string{option.GetId(), option.GetDisplayName()} {
			folded := fold(name)
			limit := max(len(wanted), len(folded)) / 3
			if d := near.Distance(wanted, folded, limit); d <= limit && (least < 0 || d < least) {
				place, least = i, d
			}
		}
	}
	return place, least >= 0
}

// fold leaves of a name its letters and digits, small.
func fold(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, name)
}
