package audit

import (
	"math"

	"github.com/snapgauge/snapgauge/service/statistic"
)

// histogramCells is how many cells a histogram has.
const histogramCells = 40

// values describes a set of numbers in constant memory.
type values struct {
	_        struct{} `cbor:",toarray"`
	Moments  statistic.Moments
	Min, Max float64
	Outside  int64
	Below    int64
	Above    int64
	Cells    []int64 // nil, or histogramCells of them
}

func (v *values) add(x float64, in frame) {
	if v.Moments.N == 0 || x < v.Min {
		v.Min = x
	}
	if v.Moments.N == 0 || x > v.Max {
		v.Max = x
	}
	v.Moments.Add(x)
	if x < in.lower || x > in.upper {
		v.Outside++
	}
	from, to := in.span()
	switch {
	case !(to > from) || math.IsInf(to-from, 1):
	case x < from:
		v.Below++
	case x > to:
		v.Above++
	default:
		if v.Cells == nil {
			v.Cells = make([]int64, histogramCells)
		}
		v.Cells[max(0, min(int((x-from)/(to-from)*histogramCells), histogramCells-1))]++
	}
}

func (v *values) merge(other *values) {
	if other.Moments.N == 0 {
		return
	}
	if v.Moments.N == 0 || other.Min < v.Min {
		v.Min = other.Min
	}
	if v.Moments.N == 0 || other.Max > v.Max {
		v.Max = other.Max
	}
	v.Moments.Merge(other.Moments)
	v.Outside += other.Outside
	v.Below += other.Below
	v.Above += other.Above
	if other.Cells == nil {
		return
	}
	if v.Cells == nil {
		v.Cells = make([]int64, histogramCells)
	}
	for i, n := range other.Cells {
		v.Cells[i] += n
	}
}

// frame is what values are seen in: their limits, infinite where there is none,
// and the nominal value, NaN where there is none.
type frame struct {
	lower, upper, nominal float64
}

// same reports whether two frames are one; a nominal value that is absent from both
// is the same.
func (f frame) same(g frame) bool {
	return f.lower == g.lower && f.upper == g.upper &&
		(f.nominal == g.nominal || math.IsNaN(f.nominal) && math.IsNaN(g.nominal))
}

// sane reports whether a number is finite, and so far from the largest that sums of
// products of many such numbers are finite too. No instrument shows another.
func sane(x float64) bool { return math.Abs(x) <= 1e100 }

// span is where a histogram begins and ends: half the tolerance beyond each limit,
// or as far beyond a single limit as something sensible on its other side. Both
// are nought where nothing says how far values may reach.
func (f frame) span() (from, to float64) {
	lower, upper := !math.IsInf(f.lower, 0), !math.IsInf(f.upper, 0)
	switch {
	case lower && upper:
		half := (f.upper - f.lower) / 2
		return f.lower - half, f.upper + half
	case upper:
		far := f.other(f.upper)
		return f.upper - 1.5*far, f.upper + 0.5*far
	case lower:
		far := f.other(f.lower)
		return f.lower - 0.5*far, f.lower + 1.5*far
	case !math.IsNaN(f.nominal):
		return f.nominal - math.Abs(f.nominal), f.nominal + math.Abs(f.nominal)
	}
	return 0, 0
}

// other is how far from a single limit values may be expected: as far as the
// nominal one, twice, else as far as nought.
func (f frame) other(limit float64) float64 {
	if d := math.Abs(limit - f.nominal); d > 0 { // false for NaN
		return 2 * d
	}
	return math.Abs(limit)
}

// standard puts a value on the scale of its limits, so that values under changed
// limits can be compared: nought at the lower limit and one at the upper, or the
// distance from a single limit or the nominal value as a share of that. NaN where
// there is no such scale.
func (f frame) standard(x float64) float64 {
	lower, upper := !math.IsInf(f.lower, 0), !math.IsInf(f.upper, 0)
	switch {
	case lower && upper && f.upper > f.lower:
		return (x - f.lower) / (f.upper - f.lower)
	case upper && f.upper != 0:
		return x / math.Abs(f.upper)
	case lower && f.lower != 0:
		return x / math.Abs(f.lower)
	case f.nominal != 0:
		return x / math.Abs(f.nominal)
	}
	return math.NaN()
}
