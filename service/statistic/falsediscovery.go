package statistic

import (
	"cmp"
	"slices"
)

// BenjaminiHochberg adjusts the P of many tests made at once. The results are in
// the order of the input: taking every test with q of at most α for a discovery,
// at most the share α of the discoveries is false on average, for tests that are
// independent or positively dependent. No q is below its P or above 1, and a
// smaller P never has a larger q.
//
// Every p must be 0 to 1; NaN is refused, since dropping it would change how many
// tests there were. No tests give no results.
//
// Source: Benjamini and Hochberg, Journal of the Royal Statistical Society B 57,
// 1995 (from memory).
func BenjaminiHochberg(p []float64) ([]float64, error) {
	order := make([]int, len(p))
	for i, v := range p {
		if !(v >= 0 && v <= 1) {
			return nil, badInput(at("p", i), v, "a number from 0 to 1")
		}
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(p[a], p[b]) })
	q := make([]float64, len(p))
	smallest := 1.0
	for rank := len(order); rank > 0; rank-- {
		i := order[rank-1]
		smallest = min(smallest, p[i]*(float64(len(p))/float64(rank)))
		q[i] = smallest
	}
	return q, nil
}
