package statistic

import (
	"math"
	"math/rand/v2"
	"testing"
)

func momentsOf(values ...float64) Moments {
	var m Moments
	for _, v := range values {
		m.Add(v)
	}
	return m
}

func TestAnovaHandbook(t *testing.T) {
	// Data as in the tests of the CPAN module Statistics::ANOVA, figures as quoted
	// in the tests of mfgQC, both from the page named.
	r, err := Anova([]Moments{
		momentsOf(6.9, 5.4, 5.8, 4.6, 4.0),
		momentsOf(8.3, 6.8, 7.8, 9.2, 6.5),
		momentsOf(8.0, 10.5, 8.1, 6.9, 9.3),
	})
	if err != nil {
		t.Fatal(err)
	}
	row := func(what string, got, want, tolerance float64) {
		check(t, PublishedCheck{Function: "Anova", Case: "resistor temperatures, " + what, Source: "NIST/SEMATECH e-Handbook", Where: "7.4.3.3",
			Want: want, Got: got, Tolerance: tolerance})
	}
	row("sum of squares between", r.Between.Sum, 27.897, 5.1e-4)
	row("sum of squares within", r.Within.Sum, 17.452, 5.1e-4)
	row("F", r.F, 9.59, 5.1e-3)
	if r.Between.DF != 2 || r.Within.DF != 12 {
		t.Errorf("got %d and %d degrees of freedom, want 2 and 12", r.Between.DF, r.Within.DF)
	}
	// With 2 degrees of freedom between, P = (1 + 2F/df)^(-df/2).
	want := math.Pow(1+2*r.F/12, -6)
	check(t, PublishedCheck{Function: "Anova", Case: "resistor temperatures, P", Source: "closed form", Where: "F with 2 and 12 degrees of freedom",
		Want: want, Got: r.P, Tolerance: toDigits(want, 13)})
}

func TestAnovaTailKeepsDigits(t *testing.T) {
	var groups []Moments
	for g := range 3 {
		groups = append(groups, Moments{N: 101, Mean: float64(10 * g), M2: 100})
	}
	r, err := Anova(groups)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "far tail", math.Log(r.P), -150*math.Log1p(2*r.F/300))
}

// TestAnovaTwoGroups: with two groups F is the square of Student's t of a line
// through groups coded 0 and 1.
func TestAnovaTwoGroups(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for range 50 {
		var groups [2]Moments
		var l Line
		for g := range groups {
			for range 3 + rng.IntN(20) {
				v := 100 + rng.NormFloat64()
				groups[g].Add(v)
				l.Add(float64(g), v)
			}
		}
		r, err := Anova(groups[:])
		if err != nil {
			t.Fatal(err)
		}
		fit, err := l.Fit()
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(r.F-fit.T*fit.T) > 1e-11*(1+r.F) || math.Abs(r.P-fit.P) > 1e-10 || math.Abs(r.EtaSquared-fit.R2) > 1e-11 {
			t.Errorf("got F %g, P %g, eta² %g, want %g, %g, %g", r.F, r.P, r.EtaSquared, fit.T*fit.T, fit.P, fit.R2)
		}
	}
}

func TestAnovaEdges(t *testing.T) {
	for _, c := range []struct {
		param  string
		groups []Moments
	}{
		{"groups", nil},
		{"groups", []Moments{momentsOf(1, 2)}},
		{"groups[1].N", []Moments{momentsOf(1, 2), {}}},
		{"groups", []Moments{momentsOf(1), momentsOf(2)}},
		{"groups", []Moments{momentsOf(1, 1), momentsOf(1)}},
		{"groups[0].Mean", []Moments{momentsOf(1, math.NaN()), momentsOf(1)}},
		{"groups[0].M2", []Moments{{N: 2, Mean: 1, M2: -1}, momentsOf(1)}},
	} {
		_, err := Anova(c.groups)
		wantInputError(t, err, c.param)
	}
	r, err := Anova([]Moments{momentsOf(1, 1), momentsOf(2, 2)})
	if err != nil || !math.IsInf(r.F, 1) || r.P != 0 || r.EtaSquared != 1 {
		t.Errorf("nothing varies within: got %+v, %v", r, err)
	}
	r, err = Anova([]Moments{momentsOf(1, 2), momentsOf(2, 1)})
	if err != nil || r.F != 0 || r.P != 1 || r.EtaSquared != 0 {
		t.Errorf("equal means: got %+v, %v", r, err)
	}
}
