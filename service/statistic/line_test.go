package statistic

import (
	"math"
	"math/rand/v2"
	"testing"
)

func TestLineMergeAndOrder(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for name, point := range map[string]func() (float64, float64){
		"noise":         func() (float64, float64) { return rng.NormFloat64(), rng.NormFloat64() },
		"line":          func() (float64, float64) { x := 100 * rng.Float64(); return x, 3*x - 7 + rng.NormFloat64() },
		"close to line": func() (float64, float64) { x := 100 * rng.Float64(); return x, 3*x - 7 + 1e-3*rng.NormFloat64() },
		"far from 0": func() (float64, float64) {
			x := 1.7e9 + float64(rng.IntN(1e6))
			return x, 1e5 + 1e-4*x + rng.NormFloat64()
		},
		"few x": func() (float64, float64) { x := float64(rng.IntN(2)); return x, x + rng.NormFloat64() },
	} {
		type xy struct{ x, y float64 }
		points := make([]xy, 500)
		var whole Line
		for i := range points {
			x, y := point()
			points[i] = xy{x, y}
			whole.Add(x, y)
		}
		fit, err := whole.Fit()
		if err != nil {
			t.Fatal(err)
		}
		agree := func(what string, l Line) {
			t.Helper()
			got, err := l.Fit()
			if err != nil {
				t.Fatal(err)
			}
			if l.N != whole.N || got.DF != fit.DF {
				t.Errorf("%s, %s: got %d points, want %d", name, what, l.N, whole.N)
			}
			// Relative to the spread of y where the figure itself may be near 0. Twice
			// that, since a figure as large as it but negative would leave nothing.
			rise := 2 * math.Sqrt(whole.SYY()/whole.SXX)
			near(t, name+", "+what+", slope", rise+got.Slope, rise+fit.Slope)
			level := 2 * (math.Abs(whole.MeanY) + math.Abs(fit.Slope*whole.MeanX))
			near(t, name+", "+what+", intercept", level+got.Intercept, level+fit.Intercept)
			near(t, name+", "+what+", SXX", l.SXX, whole.SXX)
			near(t, name+", "+what+", SYY", l.SYY(), whole.SYY())
			// The residuals are the difference of y and the line, known to the
			// rounding of y.
			if math.Abs(l.RSS-whole.RSS) > 1e-12*whole.RSS+4e-16*math.Abs(whole.MeanY)*math.Sqrt(whole.RSS*float64(whole.N)) {
				t.Errorf("%s, %s: got a residual sum of squares of %.17g, want %.17g", name, what, l.RSS, whole.RSS)
			}
		}
		for range 20 {
			var merged Line
			rest := points
			for _, n := range splits(rng, len(points)) {
				var piece Line
				for _, p := range rest[:n] {
					piece.Add(p.x, p.y)
				}
				rest = rest[n:]
				merged.Merge(piece)
			}
			agree("merged", merged)
			rng.Shuffle(len(points), func(i, j int) { points[i], points[j] = points[j], points[i] })
			var again Line
			for _, p := range points {
				again.Add(p.x, p.y)
			}
			agree("shuffled", again)
		}
		// Against the definition.
		var direct float64
		for _, p := range points {
			off := (p.y - whole.MeanY) - fit.Slope*(p.x-whole.MeanX)
			direct += off * off
		}
		if math.Abs(direct-whole.RSS) > 1e-9*whole.RSS {
			t.Errorf("%s: got a residual sum of squares of %g, the definition gives %g", name, whole.RSS, direct)
		}
	}
}

func TestLineEdges(t *testing.T) {
	_, err := Line{}.Fit()
	wantInputError(t, err, "Line.N")
	if (Line{}).SYY() != 0 {
		t.Errorf("zero value: got SYY %g", Line{}.SYY())
	}
	line := func(points ...float64) Line {
		var l Line
		for i := 0; i < len(points); i += 2 {
			l.Add(points[i], points[i+1])
		}
		return l
	}
	_, err = line(1, 2, 3, 4).Fit()
	wantInputError(t, err, "Line.N")
	_, err = line(1, 2, 1, 4, 1, 9).Fit()
	wantInputError(t, err, "Line.SXX")
	_, err = line(1, 2, 2, 4, math.NaN(), 9).Fit()
	wantInputError(t, err, "Line.SXX")
	for _, bad := range []float64{math.NaN(), math.Inf(1)} {
		_, err = line(1, 2, 2, bad, 3, 9, 4, 1).Fit()
		wantInputError(t, err, "Line.RSS")
		_, err = line(1, bad, 2, 3, 3, 9, 4, 1).Fit()
		wantInputError(t, err, "Line.RSS")
	}

	if l := line(1, 2, 1, 4, 1, 9); l.RSS != 26 || l.SYY() != 26 || l.SXX != 0 {
		t.Errorf("one x: got %+v, want a residual sum of squares of 26", l)
	}
	fit, err := line(0, 1, 1, 3, 2, 5, 3, 7).Fit()
	if err != nil || fit.Slope != 2 || fit.Intercept != 1 || fit.ResidualSD != 0 || fit.R2 != 1 || !math.IsInf(fit.T, 1) || fit.P != 0 {
		t.Errorf("exact line: got %+v, %v", fit, err)
	}
	fit, err = line(0, 4, 1, 4, 2, 4).Fit()
	if err != nil || fit != (LineFit{Intercept: 4, DF: 1, P: 1}) {
		t.Errorf("level line: got %+v, %v", fit, err)
	}
	// Points at one x, then at another, in pieces: the level lines of the pieces
	// become one that slopes.
	left, right := line(0, 1, 0, 3), line(2, 5, 2, 9)
	left.Merge(right)
	if left != line(0, 1, 0, 3, 2, 5, 2, 9) {
		t.Errorf("two places: got %+v, want %+v", left, line(0, 1, 0, 3, 2, 5, 2, 9))
	}
	same := line(1, 2, 1, 4)
	same.Merge(line(1, 6, 1, 8))
	if same.RSS != 20 {
		t.Errorf("one place: got a residual sum of squares of %g, want 20", same.RSS)
	}
	var empty Line
	empty.Merge(left)
	left.Merge(Line{})
	if empty != left {
		t.Errorf("merging with nothing: got %+v, want %+v", empty, left)
	}
}

func TestLineFitP(t *testing.T) {
	// t with 2 degrees of freedom has the closed form P = 1 - t/√(t²+2).
	var l Line
	for i, y := range []float64{1, 3, 2, 5} {
		l.Add(float64(i), y)
	}
	fit, err := l.Fit()
	if err != nil {
		t.Fatal(err)
	}
	want := 1 - fit.T/math.Sqrt(fit.T*fit.T+2)
	check(t, PublishedCheck{Function: "Line.Fit", Case: "P of the slope of 1, 3, 2, 5", Source: "closed form", Where: "t with 2 degrees of freedom",
		Want: want, Got: fit.P, Tolerance: toDigits(want, 13)})
	check(t, PublishedCheck{Function: "Line.Fit", Case: "slope of 1, 3, 2, 5", Source: "closed form", Want: 1.1, Got: fit.Slope, Tolerance: toDigits(1.1, 14)})
}

func TestLineAddDoesNotAllocate(t *testing.T) {
	var l Line
	x := 0.0
	if n := testing.AllocsPerRun(100, func() { x++; l.Add(x, x*x) }); n != 0 {
		t.Errorf("got %g allocations, want 0", n)
	}
}

func BenchmarkLineAdd(b *testing.B) {
	b.ReportAllocs()
	var l Line
	for i := range b.N {
		l.Add(float64(i&1023), float64(i&511))
	}
}
