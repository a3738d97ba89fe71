package near

import "unicode/utf8"

// Longest is the number of characters up to which texts are compared. A longer
// one is near nothing but itself, so that the work for any text is bounded.
const Longest = 64

// Distance returns how many slips lead from one text to the other, or limit+1
// when there are more than limit. The limit must not be negative. Texts of more
// than [Longest] characters are limit+1 from all but themselves. It is the same
// both ways, and allocates nothing.
func Distance(a, b string, limit int) int {
	if a == b {
		return 0
	}
	m, n := utf8.RuneCountInString(a), utf8.RuneCountInString(b)
	if max(m, n) > Longest || max(m-n, n-m) > limit {
		return limit + 1
	}
	return align(a, b, limit)
}

// align is [Distance] for texts of at most [Longest] characters.
func align(a, b string, limit int) int {
	var bufferA, bufferB [Longest]rune
	x, y := characters(a, &bufferA), characters(b, &bufferB)
	// Three rows of the table of distances between beginnings of x and of y.
	var rows [3][Longest + 1]int
	before, above, row := &rows[0], &rows[1], &rows[2]
	for j := range len(y) + 1 {
		above[j] = j
	}
	for i := range x {
		row[0] = i + 1
		least := row[0]
		for j := range y {
			d := above[j]
			if x[i] != y[j] {
				d++
			}
			d = min(d, above[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && x[i] == y[j-1] && x[i-1] == y[j] {
				d = min(d, before[j-1]+1)
			}
			row[j+1] = d
			least = min(least, d)
		}
		if least > limit {
			return limit + 1
		}
		before, above, row = above, row, before
	}
	return min(above[len(y)], limit+1)
}

// characters puts those of a text into the buffer, which must hold them all.
func characters(text string, buffer *[Longest]rune) []rune {
	n := 0
	for _, r := range text {
		buffer[n] = r
		n++
	}
	return buffer[:n]
}
