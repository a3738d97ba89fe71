package formula

import (
	"slices"
	"strings"

	"github.com/snapgauge/snapgauge/service/near"
)

// maxSuggestions is how many names an [UnknownError] offers.
const maxSuggestions = 3

// suggestFormulas returns the names most like one that does not exist: first
// those near it, then those that have all of its words, in the order of the
// catalogue.
func suggestFormulas(name string) []string {
	names := make([]string, len(catalogue))
	for i, f := range catalogue {
		names[i] = f.name
	}
	suggestions := nearest(name, names)
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return r == '-' || r == '_' || r == ' '
	})
	for _, candidate := range names {
		if len(words) > 0 && !slices.Contains(suggestions, candidate) && hasWords(candidate, words) {
			suggestions = append(suggestions, candidate)
		}
	}
	return suggestions[:min(len(suggestions), maxSuggestions)]
}

func hasWords(name string, words []string) bool {
	for _, w := range words {
		if !strings.Contains(name, w) {
			return false
		}
	}
	return true
}

// nearest returns the names of the list that are near one that is not in it,
// as [near.Names] ranks them.
func nearest(name string, names []string) []string {
	return near.Names(name, names, maxSuggestions)
}
