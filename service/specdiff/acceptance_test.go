package specdiff

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// accepts judges a value as the engine does, with the half-width of the guard
// band for a guard of 1: the band lies inside the limits and above the safe fill.
func (a acceptance) accepts(v, width float64) bool {
	w := 0.0
	if a.guarded {
		w = a.guard * width
	}
	return v >= a.lower+w && v <= a.upper-w && v <= a.safe+w
}

// within holds exactly when no value and no uncertainty tells otherwise, but for
// the uncertainty that guarded acceptance needs to be known.
func TestWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func() acceptance {
			lower := float64(rapid.IntRange(0, 3).Draw(t, "lower"))
			a := acceptance{
				lower: lower, upper: lower + float64(rapid.IntRange(0, 6).Draw(t, "width")),
				safe: lower + float64(rapid.IntRange(0, 8).Draw(t, "safe")), guard: 1,
				guarded: rapid.Bool().Draw(t, "guarded"),
			}
			switch rapid.IntRange(0, 3).Draw(t, "open") {
			case 0:
				a.upper = math.Inf(1)
			case 1:
				a.safe = math.Inf(1)
			}
			return a
		}
		a, b := draw(), draw()
		b.guarded = a.guarded // two rules are compared by rank, not by value
		counter := false
		for width := 0.0; width <= 8; width += 0.25 {
			for v := 0.0; v <= 14; v += 0.25 {
				counter = counter || a.accepts(v, width) && !b.accepts(v, width)
			}
		}
		// What ends above the values tried cannot be told apart by trying.
		if within := a.within(b); within && counter || !within && !counter && !math.IsInf(a.upper, 1) {
			t.Fatalf("%+v within %+v: %t, by trial %t", a, b, within, !counter)
		}
	})
}

func TestGuardedIsTighter(t *testing.T) {
	simple := acceptance{lower: 1, upper: 2, safe: math.Inf(1), guard: 1}
	short, long := simple, simple
	short.guarded, long.guarded, long.guard = true, true, 1.5
	for i, a := range []acceptance{simple, short, long} {
		for j, b := range []acceptance{simple, short, long} {
			if got := a.within(b); got != (i >= j) {
				t.Errorf("%+v within %+v: %t", a, b, got)
			}
		}
	}
}
