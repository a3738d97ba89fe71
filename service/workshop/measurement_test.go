package workshop

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

var inf = math.Inf(1)

func TestMeasurementPublished(t *testing.T) {
	const gum, jcgm106 = "JCGM 100:2008 (GUM)", "JCGM 106:2012"

	u, err := StandardUncertaintyFromResolution(1)
	noErr(t, err)
	check(t, PublishedCheck{Function: "StandardUncertaintyFromResolution", Case: "resolution δx = 1: u = 0.29 δx", Source: gum, Where: "F.2.2.1", Want: 0.29, Got: u, Tolerance: 0.005, FromMemory: true})

	u, err = StandardUncertaintyFromPermissibleError(1)
	noErr(t, err)
	check(t, PublishedCheck{Function: "StandardUncertaintyFromPermissibleError", Case: "rectangular of half-width 1", Source: "closed form", Where: "1/√3", Want: 0.5773502692, Got: u, Tolerance: 1e-10})

	u, err = StandardUncertaintyFromExpanded(240, 3)
	noErr(t, err)
	check(t, PublishedCheck{Function: "StandardUncertaintyFromExpanded", Case: "1 kg mass standard, 240 µg at three standard deviations", Source: gum, Where: "4.3.3 example", Want: 80, Got: u, Tolerance: 0.5, Unit: "µg", FromMemory: true})

	u, err = CombineUncertainty(25, 9.7, 2.9, 16.6)
	noErr(t, err)
	check(t, PublishedCheck{Function: "CombineUncertainty", Case: "end gauge, components 25, 9.7, 2.9, 16.6 nm", Source: gum, Where: "H.1.5", Want: 32, Got: u, Tolerance: 0.5, Unit: "nm", FromMemory: true})

	u, err = ExpandedUncertainty(32, 2.92)
	noErr(t, err)
	check(t, PublishedCheck{Function: "ExpandedUncertainty", Case: "end gauge, u = 32 nm, k = 2.92", Source: gum, Where: "H.1.6", Want: 93, Got: u, Tolerance: 0.5, Unit: "nm", FromMemory: true})

	w, err := GuardBand(0.2, 1)
	noErr(t, err)
	check(t, PublishedCheck{Function: "GuardBand", Case: "ISO 14253-1 default r = 1, U = 0.2", Source: jcgm106, Where: "8.3.2", Want: 0.2, Got: w, Tolerance: 1e-12, FromMemory: true})

	a := AcceptanceInterval(Interval{-inf, 100}, 3)
	check(t, PublishedCheck{Function: "AcceptanceInterval", Case: "upper limit 100, w = 3: acceptance limit", Source: jcgm106, Where: "8.3.2", Want: 97, Got: a.Upper, Tolerance: 1e-12, FromMemory: true})
	if !math.IsInf(a.Lower, -1) {
		t.Errorf("the side without a limit got one: %v", a)
	}
	check(t, PublishedCheck{Function: "Interval.Contains", Case: "limit belongs to the interval", Source: jcgm106, Where: "3.3.5 tolerance interval", Want: 1, Got: truth(Interval{1, 2}.Contains(2)), FromMemory: true})
	check(t, PublishedCheck{Function: "Interval.Empty", Case: "tolerance 1 wide, guard bands 0.6 each", Source: "closed form", Want: 1, Got: truth(AcceptanceInterval(Interval{0, 1}, 0.6).Empty())})

	// ISO 14253-1: the three zones at an upper limit.
	for _, c := range []struct {
		name  string
		value float64
		want  Decision
	}{
		{"2.1 of at most 2.3, U = 0.2: on the acceptance limit", 2.1, Conforming},
		{"2.2 of at most 2.3, U = 0.2: uncertainty range", 2.2, Undecided},
		{"2.5 of at most 2.3, U = 0.2: edge of the uncertainty range", 2.5, Undecided},
		{"2.6 of at most 2.3, U = 0.2: beyond it", 2.6, Nonconforming},
	} {
		got := Decide(c.value, Interval{-inf, 2.3}, 0.2)
		check(t, PublishedCheck{Function: "Decide", Case: c.name + " (0 undecided, 1 conforming, 2 nonconforming)", Source: "ISO 14253-1:2017", Where: "clause 5", Want: float64(c.want), Got: float64(got), FromMemory: true})
	}

	for _, c := range []struct {
		name            string
		value, u        float64
		tolerance       Interval
		want, tolerated float64
		where           string
	}{
		{"one-sided, z = 0.84", 0, 1, Interval{-inf, 0.84}, 0.80, 0.005, "Table 1"},
		{"one-sided, z = 1.28", 0, 1, Interval{-inf, 1.28}, 0.90, 0.005, "Table 1"},
		{"one-sided, z = 1.64", 0, 1, Interval{-inf, 1.64}, 0.95, 0.005, "Table 1"},
		{"one-sided, z = 2.33", 0, 1, Interval{-inf, 2.33}, 0.99, 0.0005, "Table 1"},
		{"one-sided, z = 3.09", 0, 1, Interval{-inf, 3.09}, 0.999, 0.00005, "Table 1"},
		{"Zener diode, at most -5.40 V, read -5.47 V, u = 0.05 V", -5.47, 0.05, Interval{-inf, -5.40}, 0.92, 0.005, "7.3 example"},
		{"container burst, at least 490 kPa, read 509.7 kPa, u = 8.6 kPa", 509.7, 8.6, Interval{490, inf}, 0.99, 0.005, "7.3 example"},
		{"speed limit 100 km/h, read 106.59 km/h, u = 2 % of reading", 106.59, 0.02 * 106.59, Interval{-inf, 100}, 0.001, 0.00005, "8.3.3 example"},
	} {
		p, err := ConformanceProbability(c.value, c.u, c.tolerance)
		noErr(t, err)
		check(t, PublishedCheck{Function: "ConformanceProbability", Case: c.name, Source: jcgm106, Where: c.where, Want: c.want, Got: p, Tolerance: c.tolerated, FromMemory: true})
	}
	p, err := ConformanceProbability(10, 1, Interval{-inf, 0})
	noErr(t, err)
	check(t, PublishedCheck{Function: "ConformanceProbability", Case: "ten standard uncertainties outside, ×1e24", Source: "closed form", Where: "erfc(10/√2)/2", Want: 7.619853024160527, Got: p * 1e24, Tolerance: 1e-11})

	cm, err := MeasurementCapability(Interval{0, 0.4}, 0.025)
	noErr(t, err)
	check(t, PublishedCheck{Function: "MeasurementCapability", Case: "T = 0.4, U = 2u = 0.05: C_m = T/(2U) = 4", Source: jcgm106, Where: "7.6.3", Want: 4, Got: cm, Tolerance: 1e-12, FromMemory: true})
}

func TestDecideProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lower := rapid.Float64Range(-1e3, 1e3).Draw(t, "lower")
		upper := lower + rapid.Float64Range(0, 1e3).Draw(t, "width")
		w := rapid.Float64Range(0, 300).Draw(t, "w")
		v := rapid.Float64Range(-3e3, 3e3).Draw(t, "value")
		tol := Interval{lower, upper}

		got := Decide(v, tol, w)
		simple := Decide(v, tol, 0)
		if simple == Undecided || (simple == Conforming) != tol.Contains(v) {
			t.Fatalf("simple acceptance of %v in %v: %v", v, tol, simple)
		}
		if got != Undecided && got != simple {
			t.Fatalf("a guard band may only make %v undecided, got %v (value %v, %v, w %v)", simple, got, v, tol, w)
		}
		if wider := Decide(v, tol, 2*w+1e-9); wider != Undecided && wider != got {
			t.Fatalf("a wider guard band changed %v to %v", got, wider)
		}
		if mirror := Decide(-v, Interval{-upper, -lower}, w); mirror != got {
			t.Fatalf("not symmetric: %v, mirrored %v", got, mirror)
		}
		if open := Decide(v, Interval{-inf, inf}, w); open != Conforming {
			t.Fatalf("no limits, yet %v", open)
		}
	})
}

func TestDecideNeverAcceptsNonsense(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		value     float64
		tolerance Interval
		w         float64
	}{
		{nan, Interval{0, 1}, 0}, {0.5, Interval{nan, 1}, 0}, {0.5, Interval{0, nan}, 0.1},
		{0.5, Interval{0, 1}, nan}, {0.5, Interval{0, 1}, -0.1}, {0.5, Interval{0, 1}, inf},
		{inf, Interval{0, inf}, 0}, {-inf, Interval{-inf, 0}, 0},
	} {
		if got := Decide(c.value, c.tolerance, c.w); got != Undecided {
			t.Errorf("Decide(%v, %v, %v) = %v, want undecided", c.value, c.tolerance, c.w, got)
		}
	}
	if AcceptanceInterval(Interval{0, 1}, -1).Contains(0.5) || AcceptanceInterval(Interval{0, 1}, nan).Contains(0.5) {
		t.Error("a bad guard band accepts")
	}
	if Undecided != 0 {
		t.Error("the zero Decision must not decide")
	}
}

func TestDecisionString(t *testing.T) {
	for d, want := range map[Decision]string{Undecided: "undecided", Conforming: "conforming", Nonconforming: "nonconforming", 9: "undecided"} {
		if got := d.String(); got != want {
			t.Errorf("Decision(%d) prints %q, want %q", d, got, want)
		}
	}
}

func TestConformanceProbabilityProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lower := rapid.Float64Range(-100, 100).Draw(t, "lower")
		upper := lower + rapid.Float64Range(0.001, 100).Draw(t, "width")
		v := rapid.Float64Range(-400, 400).Draw(t, "value")
		u := rapid.Float64Range(0.01, 50).Draw(t, "u")
		tol := Interval{lower, upper}
		p, err := ConformanceProbability(v, u, tol)
		noErr(t, err)
		if p < 0 || p > 1 {
			t.Fatalf("probability %v", p)
		}
		mirror, err := ConformanceProbability(-v, u, Interval{-upper, -lower})
		noErr(t, err)
		if math.Abs(mirror-p) > 1e-15 {
			t.Fatalf("not symmetric: %v and %v", p, mirror)
		}
		below, err := ConformanceProbability(v, u, Interval{-inf, lower})
		noErr(t, err)
		above, err := ConformanceProbability(v, u, Interval{upper, inf})
		noErr(t, err)
		if math.Abs(below+p+above-1) > 1e-14 {
			t.Fatalf("parts sum to %v", below+p+above)
		}
		wider, err := ConformanceProbability(v, u, Interval{lower - 1, upper + 1})
		noErr(t, err)
		if wider < p-1e-15 {
			t.Fatalf("wider tolerance, less probable: %v < %v", wider, p)
		}
		// What ISO 14253-1 accepts with U = 2u conforms with at least 95 %.
		if Decide(v, tol, 2*u) == Conforming && p < 0.954 {
			t.Fatalf("accepted at %v", p)
		}
	})
}

func TestMeasurementRefuses(t *testing.T) {
	for name, f := range map[string]func() error{
		"resolution below 0":   func() error { _, err := StandardUncertaintyFromResolution(-1); return err },
		"error NaN":            func() error { _, err := StandardUncertaintyFromPermissibleError(math.NaN()); return err },
		"k 0":                  func() error { _, err := StandardUncertaintyFromExpanded(1, 0); return err },
		"expanded infinite":    func() error { _, err := StandardUncertaintyFromExpanded(inf, 2); return err },
		"component below 0":    func() error { _, err := CombineUncertainty(1, -1); return err },
		"k below 0":            func() error { _, err := ExpandedUncertainty(1, -2); return err },
		"r below 0":            func() error { _, err := GuardBand(1, -1); return err },
		"crossed limits":       func() error { _, err := ConformanceProbability(0, 1, Interval{1, 0}); return err },
		"lower limit +Inf":     func() error { _, err := ConformanceProbability(0, 1, Interval{inf, inf}); return err },
		"u below 0":            func() error { _, err := ConformanceProbability(0, -1, Interval{0, 1}); return err },
		"value infinite":       func() error { _, err := ConformanceProbability(inf, 1, Interval{0, inf}); return err },
		"u of expanded NaN":    func() error { _, err := ExpandedUncertainty(math.NaN(), 2); return err },
		"guard of NaN":         func() error { _, err := GuardBand(math.NaN(), 1); return err },
		"value NaN":            func() error { _, err := ConformanceProbability(math.NaN(), 1, Interval{0, 1}); return err },
		"one-sided capability": func() error { _, err := MeasurementCapability(Interval{-inf, 1}, 1); return err },
		"capability with u 0":  func() error { _, err := MeasurementCapability(Interval{0, 1}, 0); return err },
	} {
		refused(t, name, f())
	}
}

func TestConformanceWithoutUncertainty(t *testing.T) {
	for v, want := range map[float64]float64{0: 1, 1: 1, 0.5: 1, -1e-9: 0, 1.1: 0} {
		if p, err := ConformanceProbability(v, 0, Interval{0, 1}); err != nil || p != want {
			t.Errorf("value %v, u 0: %v, %v, want %v", v, p, err, want)
		}
	}
}

func TestMeasurementDoesNotAllocate(t *testing.T) {
	tol := Interval{0, 10}
	var sink float64
	var decided Decision
	if n := testing.AllocsPerRun(100, func() {
		u1, _ := StandardUncertaintyFromResolution(0.1)
		u2, _ := StandardUncertaintyFromPermissibleError(0.2)
		u3, _ := StandardUncertaintyFromExpanded(0.2, 2)
		u, _ := CombineUncertainty(u1, u2, u3)
		expanded, _ := ExpandedUncertainty(u, 2)
		w, _ := GuardBand(expanded, 1)
		sink += AcceptanceInterval(tol, w).Lower
		decided = Decide(9.9, tol, w)
		p, _ := ConformanceProbability(9.9, u, tol)
		cm, _ := MeasurementCapability(tol, u)
		sink += p + cm
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
	_, _ = sink, decided
}

func BenchmarkDecide(b *testing.B) {
	tol := Interval{0, 10}
	for b.Loop() {
		Decide(9.9, tol, 0.2)
	}
}
