package formula

import (
	"cmp"
	"slices"
	"strings"
)

// maxSuggestions is how many names an [UnknownError] offers.
const maxSuggestions = 3

// suggestFormulas returns the names most like one that does not exist: first
// those a slip away, then those that have all of its words.
func suggestFormulas(name string) []string {
	names := make([]string, len(catalogue))
	for i, f := range catalogue {
		names[i] = f.name
	}
	near := nearest(name, names)
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return r == '-' || r == '_' || r == ' '
	})
	for _, candidate := range names {
		if len(words) > 0 && !slices.Contains(near, candidate) && hasWords(candidate, words) {
			near = append(near, candidate)
		}
	}
	return near[:min(len(near), maxSuggestions)]
}

func hasWords(name string, words []string) bool {
	for _, w := range words {
		if !strings.Contains(name, w) {
			return false
		}
	}
	return true
}

// nearest returns the names at most a third of their letters away from what was
// written, nearest first and then in the order of names.
func nearest(written string, names []string) []string {
	const longest = 64 // no name is; bounds the work
	if len(written) > longest {
		return nil
	}
	type candidate struct {
		name     string
		distance int
	}
	wanted := strings.ToLower(written)
	var found []candidate
	for _, name := range names {
		if d := editDistance(wanted, name); d <= max(1, max(len(wanted), len(name))/3) {
			found = append(found, candidate{name, d})
		}
	}
	slices.SortStableFunc(found, func(a, b candidate) int { return cmp.Compare(a.distance, b.distance) })
	result := make([]string, len(found))
	for i, c := range found {
		result[i] = c.name
	}
	return result
}

// editDistance is the number of bytes to put in, leave out or change to make b
// of a (Levenshtein).
func editDistance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			changed := diagonal
			if a[i] != b[j] {
				changed++
			}
			diagonal = row[j+1]
			row[j+1] = min(changed, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
