package statistic

import (
	"math"
	"math/rand/v2"
	"testing"
)

// momentsLike returns moments of n values with exactly this mean and standard
// deviation.
func momentsLike(n int64, mean, sd float64) Moments {
	return Moments{N: n, Mean: mean, M2: sd * sd * float64(n-1)}
}

func TestCapabilityPublished(t *testing.T) {
	lower, upper := 8.0, 20.0
	c, err := Capability(momentsLike(50, 16, 2), &lower, &upper, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	row := func(name string, got, want, tolerance float64, source, where string, memory bool) {
		check(t, PublishedCheck{Function: "Capability", Case: name, Source: source, Where: where, Want: want, Got: got, Tolerance: tolerance, FromMemory: memory})
	}
	const handbook = "NIST/SEMATECH e-Handbook" // as quoted in the tests of mfgQC
	row("limits 8 and 20, mean 16, standard deviation 2, Cp", c.Cp.Value, 1.0, 1e-12, handbook, "6.1.6", false)
	row("limits 8 and 20, mean 16, standard deviation 2, Cpl", c.Cpl.Value, 1.3333, 0.6e-4, handbook, "6.1.6", false)
	row("limits 8 and 20, mean 16, standard deviation 2, Cpu", c.Cpu.Value, 0.6667, 0.6e-4, handbook, "6.1.6", false)
	row("limits 8 and 20, mean 16, standard deviation 2, Cpk", c.Cpk.Value, 0.6667, 0.6e-4, handbook, "6.1.6", false)

	// The piston rings of the R package qcc.
	lower, upper = 73.95, 74.05
	rings := momentsLike(125, 74.00118, 0.009785039)
	c, err = Capability(rings, &lower, &upper, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	const qcc, output = "R package qcc", "process.capability, piston rings"
	row("piston rings, Cp", c.Cp.Value, 1.703, 0.6e-3, qcc, output, true)
	row("piston rings, Cp, lower", c.Cp.Interval.Lower, 1.491, 0.6e-3, qcc, output, true)
	row("piston rings, Cp, upper", c.Cp.Interval.Upper, 1.915, 0.6e-3, qcc, output, true)
	row("piston rings, Cpk", c.Cpk.Value, 1.663, 0.6e-3, qcc, output, true)
	row("piston rings, Cpk, lower", c.Cpk.Interval.Lower, 1.448, 0.6e-3, qcc, output, true)
	row("piston rings, Cpk, upper", c.Cpk.Interval.Upper, 1.878, 0.6e-3, qcc, output, true)

	// Montgomery's example: n 20, limits 38 and 62, standard deviation 1.75.
	lower, upper = 38, 62
	c, err = Capability(momentsLike(20, 50, 1.75), &lower, &upper, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	const book, chapter = "Montgomery, Introduction to Statistical Quality Control", "process capability, confidence intervals"
	row("limits 38 and 62, standard deviation 1.75, n 20, Cp", c.Cp.Value, 2.29, 0.6e-2, book, chapter, true)
	row("limits 38 and 62, standard deviation 1.75, n 20, Cp, lower", c.Cp.Interval.Lower, 1.57, 0.6e-2, book, chapter, true)
	row("limits 38 and 62, standard deviation 1.75, n 20, Cp, upper", c.Cp.Interval.Upper, 3.01, 0.6e-2, book, chapter, true)
}

func TestCapabilityOneSided(t *testing.T) {
	lower, upper := 8.0, 20.0
	m := momentsLike(50, 16, 2)
	both, err := Capability(m, &lower, &upper, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	onlyLower, err := Capability(m, &lower, nil, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	if onlyLower.Cp != nil || onlyLower.Cpu != nil || *onlyLower.Cpl != *both.Cpl || onlyLower.Cpk != *both.Cpl {
		t.Errorf("lower limit only: got %+v", onlyLower)
	}
	onlyUpper, err := Capability(m, nil, &upper, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	if onlyUpper.Cp != nil || onlyUpper.Cpl != nil || *onlyUpper.Cpu != *both.Cpu || onlyUpper.Cpk != *both.Cpu {
		t.Errorf("upper limit only: got %+v", onlyUpper)
	}
	outside, err := Capability(momentsLike(50, 21, 2), nil, &upper, 0.95)
	if err != nil || outside.Cpk.Value >= 0 {
		t.Errorf("mean outside: got %+v, %v", outside, err)
	}
}

// TestCapabilityCovers: the intervals hold the true index about as often as they say.
func TestCapabilityCovers(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	lower, upper := -4.0, 3.0
	const runs = 2000
	var cp, cpk int
	for range runs {
		var m Moments
		for range 50 {
			m.Add(rng.NormFloat64())
		}
		c, err := Capability(m, &lower, &upper, 0.9)
		if err != nil {
			t.Fatal(err)
		}
		for _, i := range []*Index{c.Cp, c.Cpl, c.Cpu, &c.Cpk} {
			if !i.Interval.Contains(i.Value) {
				t.Errorf("got %+v", *i)
			}
		}
		if c.Cp.Interval.Contains(7.0 / 6) {
			cp++
		}
		if c.Cpk.Interval.Contains(1) {
			cpk++
		}
	}
	// Five standard deviations of a count around 0.9 of 2000, and for the
	// approximate one as much again.
	if math.Abs(float64(cp)-0.9*runs) > 70 || math.Abs(float64(cpk)-0.9*runs) > 140 {
		t.Errorf("got %d and %d of %d intervals with the true index, want about %g", cp, cpk, runs, 0.9*runs)
	}
}

func TestCapabilityEdges(t *testing.T) {
	number := func(v float64) *float64 { return &v }
	m := momentsLike(50, 16, 2)
	for _, c := range []struct {
		param        string
		m            Moments
		lower, upper *float64
		confidence   float64
	}{
		{"confidence", m, number(1), nil, 1},
		{"m.N", Moments{}, number(1), nil, 0.95},
		{"m.M2", momentsOf(1, 1), number(1), nil, 0.95},
		{"m.M2", momentsOf(1, math.NaN()), number(1), nil, 0.95},
		{"lower, upper", m, nil, nil, 0.95},
		{"lower", m, number(math.Inf(-1)), nil, 0.95},
		{"upper", m, nil, number(math.NaN()), 0.95},
		{"lower", m, number(2), number(2), 0.95},
	} {
		_, err := Capability(c.m, c.lower, c.upper, c.confidence)
		wantInputError(t, err, c.param)
	}
}
