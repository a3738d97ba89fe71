package statistic

import "math"

// MinExpected is the smallest expected count of a cell for which [ChiSquareFit]
// trusts the chi-square distribution.
//
// Source: NIST/SEMATECH e-Handbook, 1.3.5.15 (from memory).
const MinExpected = 5

// ChiSquare is a test of goodness of fit.
type ChiSquare struct {
	// Statistic is the sum over the cells of (observed-expected)²/expected.
	Statistic float64
	DF        int64
	// P is the probability of such a statistic or a larger one if the expected
	// counts are right.
	P float64
	// W is Cohen's effect size √(Statistic/n), which does not grow with the count
	// n: about 0.1 is small, 0.3 medium, 0.5 large.
	W float64
}

// ChiSquareFit compares counts with those that a distribution makes expect,
// fitted being how many of its parameters were estimated from the same counts.
// DF is the number of cells less 1 less fitted, and at least 1 is needed.
//
// A cell in which nothing was expected and nothing observed is dropped. Any other
// cell with an expected count below [MinExpected] is refused, and so is one where
// nothing was expected but something observed. Cells are not pooled here: only
// the caller knows which are neighbours, and pooling after seeing the counts
// bends the result. The two lists must have the same length and, within 1e-6,
// the same total.
//
// Source: NIST/SEMATECH e-Handbook, 1.3.5.15 (from memory); W: Cohen, Statistical
// Power Analysis for the Behavioral Sciences, 1988, chapter 7 (from memory).
func ChiSquareFit(observed []int64, expected []float64, fitted int) (ChiSquare, error) {
	if len(observed) != len(expected) {
		return ChiSquare{}, badInput("expected", float64(len(expected)), "as many cells as observed")
	}
	if fitted < 0 {
		return ChiSquare{}, badInput("fitted", float64(fitted), "at least 0")
	}
	var r ChiSquare
	var count, sum float64
	cells := int64(0)
	for i, o := range observed {
		e := expected[i]
		if o < 0 {
			return ChiSquare{}, badInput(at("observed", i), float64(o), "at least 0")
		}
		if e == 0 && o == 0 {
			continue
		}
		if !(e >= MinExpected) || !finite(e) {
			return ChiSquare{}, badInput(at("expected", i), e, "a finite number of at least 5 (pool cells with fewer), or 0 where nothing was observed")
		}
		cells++
		count += float64(o)
		sum += e
		r.Statistic += (float64(o) - e) * (float64(o) - e) / e
	}
	r.DF = cells - 1 - int64(fitted)
	if r.DF < 1 {
		return ChiSquare{}, badInput("observed", float64(cells), "at least 2 more cells than fitted parameters")
	}
	if !(math.Abs(sum-count) <= 1e-6*count) {
		return ChiSquare{}, badInput("expected", sum, "the same total as observed")
	}
	r.P = chiSquareUpper(r.Statistic, float64(r.DF))
	r.W = math.Sqrt(r.Statistic / count)
	return r, nil
}
