package population

import "math"

// decimal is a step of a scale: count / power, so that its multiples are the
// decimal numbers that people write, to the last bit.
type decimal struct{ count, power float64 }

func (s decimal) value() float64 { return s.count / s.power }

// at gives the multiple of the step that is nearest to x.
func (s decimal) at(x float64) float64 { return s.times(s.index(x)) }

// index counts the steps from nought to what is nearest to x.
func (s decimal) index(x float64) float64 {
	return math.Floor(float64(float64(x*s.power)/s.count) + 0.5)
}

func (s decimal) times(n float64) float64 { return float64(n*s.count) / s.power }

// coarser gives a step n times as large.
func (s decimal) coarser(n int) decimal { return decimal{float64(n) * s.count, s.power} }

// finer gives a tenth of the step.
func (s decimal) finer() decimal { return decimal{s.count, 10 * s.power} }

// onScale reports whether x is a multiple of the step.
func (s decimal) onScale(x float64) bool { return s.at(x) == x }

// lastPlaces is how many of the last written place one step is, places that are
// always nought not counted: 2 for a step of 0.02, 1 for one of 10.
func (s decimal) lastPlaces() int {
	n := int(s.count)
	for n%10 == 0 {
		n /= 10
	}
	return n
}

// fineStep is a step that people read a scale in that is width wide, where
// nothing is known of the scale.
func fineStep(width float64) decimal {
	s := decimal{1, 10000}
	for {
		for _, n := range []float64{1, 2, 5} {
			if next := (decimal{s.count * n, s.power}); float64(next.value()*25) >= width {
				return next
			}
		}
		if s.power > 1 {
			s.power /= 10
		} else {
			s.count *= 10
		}
	}
}
