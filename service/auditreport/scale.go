package auditreport

import "math"

// scale maps values from lo to hi on lengths.
type scale struct{ lo, hi, from, to float64 }

// at is the length for a value; a value beyond an end stands at that end.
func (s scale) at(v float64) float64 {
	if !(s.hi > s.lo) {
		return (s.from + s.to) / 2
	}
	// Halves, since a difference of the largest numbers is none.
	share := min(max((v/2-s.lo/2)/(s.hi/2-s.lo/2), 0), 1)
	return s.from + share*(s.to-s.from)
}

// step is the distance of ticks, one of 1, 2 and 5 times a power of ten, that
// makes about so many.
func step(lo, hi float64, most int) float64 {
	width := hi - lo
	if !(width > 0) || !finite(width) {
		return 1
	}
	rough := width / float64(most)
	power := math.Pow(10, math.Floor(math.Log10(rough)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= rough*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// ticks are the round values from lo to hi, about so many. Ends too far apart to
// be told as numbers have none.
func ticks(lo, hi float64, most int) []float64 {
	if !finite(hi - lo) {
		return nil
	}
	s := step(lo, hi, most)
	var out []float64
	for n := math.Ceil(lo/s - 1e-9); n*s <= hi+s*1e-9 && len(out) <= 2*most; n++ {
		out = append(out, n*s)
	}
	return out
}

// tickText writes a tick with the decimals that its step needs.
func tickText(v, step float64) string {
	decimals := 0
	if step < 1 {
		decimals = min(int(math.Ceil(-math.Log10(step)-1e-9)), 9)
	}
	return fixed(v, decimals)
}

// roundUp is the least round share that is not below a share, and at most the
// whole.
func roundUp(share float64) float64 {
	if !(share > 0) {
		return 1
	}
	power := math.Pow(10, math.Floor(math.Log10(share)))
	for _, m := range []float64{1, 1.5, 2, 3, 4, 5, 6, 8, 10} {
		if m*power >= share*(1-1e-9) {
			return min(m*power, 1)
		}
	}
	return 1
}
