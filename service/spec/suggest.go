package spec

import (
	"fmt"
	"slices"
	"strings"
)

// suggest returns `; did you mean "x"?` for the nearest name, or nothing when
// none is near.
func suggest(got string, names []string) string {
	if near := nearest(got, names, 1); len(near) > 0 {
		return fmt.Sprintf("; did you mean %q?", near[0])
	}
	return ""
}

// nearest returns at most so many of the names that are like what was written:
// at most a third of their letters away. Nearest first, then by alphabet.
func nearest(got string, names []string, most int) []string {
	type candidate struct {
		name     string
		distance int
	}
	var candidates []candidate
	wanted := strings.ToLower(got)
	for _, name := range names {
		limit := max(1, max(len(wanted), len(name))/3)
		if d := editDistance(wanted, strings.ToLower(name), limit); d <= limit {
			candidates = append(candidates, candidate{name, d})
		}
	}
	slices.SortFunc(candidates, func(a, b candidate) int {
		if a.distance != b.distance {
			return a.distance - b.distance
		}
		return strings.Compare(a.name, b.name)
	})
	result := make([]string, 0, most)
	for _, c := range candidates {
		if len(result) < most && !slices.Contains(result, c.name) {
			result = append(result, c.name)
		}
	}
	return result
}

// maxEdit bounds the texts that [editDistance] compares, so that its work
// fits on the stack.
const maxEdit = 64

// editDistance is the number of bytes to put in, leave out, change or swap with
// their neighbour to make b of a, no part being touched twice (optimal string
// alignment). It is limit+1 when it is above the limit, and for unequal texts
// longer than [maxEdit].
func editDistance(a, b string, limit int) int {
	if a == b {
		return 0
	}
	if len(a) > maxEdit || len(b) > maxEdit || max(len(a)-len(b), len(b)-len(a)) > limit {
		return limit + 1
	}
	var rows [3][maxEdit + 1]int
	before, above, row := &rows[0], &rows[1], &rows[2]
	for j := range len(b) + 1 {
		above[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		least := i
		for j := 1; j <= len(b); j++ {
			d := above[j-1]
			if a[i-1] != b[j-1] {
				d++
			}
			d = min(d, above[j]+1, row[j-1]+1)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				d = min(d, before[j-2]+1)
			}
			row[j] = d
			least = min(least, d)
		}
		if least > limit {
			return limit + 1
		}
		before, above, row = above, row, before
	}
	return min(above[len(b)], limit+1)
}
