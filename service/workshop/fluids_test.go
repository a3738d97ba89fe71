package workshop

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestPremixPublished(t *testing.T) {
	const closed = "closed form"
	v, err := PremixDose(5000, 50)
	noErr(t, err)
	check(t, PublishedCheck{Function: "PremixDose", Case: "5 l at 50:1", Source: closed, Want: 100, Got: v, Tolerance: 1e-12, Unit: "ml"})
	v, err = PremixDoseForTotal(5100, 50)
	noErr(t, err)
	check(t, PublishedCheck{Function: "PremixDoseForTotal", Case: "5.1 l of mixture at 50:1", Source: closed, Want: 100, Got: v, Tolerance: 1e-12, Unit: "ml"})
	v, err = PremixRatio(5000, 125)
	noErr(t, err)
	check(t, PublishedCheck{Function: "PremixRatio", Case: "125 ml in 5 l", Source: closed, Want: 40, Got: v, Tolerance: 1e-12})
	v, err = EffectiveRatio(50, 50)
	noErr(t, err)
	check(t, PublishedCheck{Function: "EffectiveRatio", Case: "pre-mix 50:1 and an oil pump at 50:1: the sum of both oils", Source: "common practice, no source", Want: 25, Got: v, Tolerance: 1e-12})
}

func TestPremixProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		fuel := rapid.Float64Range(1, 2e4).Draw(t, "fuel")
		a := rapid.Float64Range(LeastPremixRatio, MostPremixRatio).Draw(t, "a")
		b := rapid.Float64Range(LeastPremixRatio, MostPremixRatio).Draw(t, "b")
		oilA, err := PremixDose(fuel, a)
		noErr(t, err)
		oilB, err := PremixDose(fuel, b)
		noErr(t, err)
		back, err := PremixRatio(fuel, oilA)
		noErr(t, err)
		if math.Abs(back-a) > 1e-9*a {
			t.Fatalf("%v:1 reads back as %v:1", a, back)
		}
		both, err := EffectiveRatio(a, b)
		noErr(t, err)
		mixed, err := PremixRatio(fuel, oilA+oilB)
		noErr(t, err)
		if math.Abs(both-mixed) > 1e-9*both {
			t.Fatalf("effective %v, mixed by hand %v", both, mixed)
		}
		total, err := PremixDoseForTotal(fuel+oilA, a)
		noErr(t, err)
		if math.Abs(total-oilA) > 1e-9*oilA {
			t.Fatalf("dose for the total %v, for the fuel %v", total, oilA)
		}
	})
}

func TestCoolantPublished(t *testing.T) {
	// Two copies of published frost tables differ by about two degrees.
	v, err := GlycolFreezePoint(50)
	noErr(t, err)
	check(t, PublishedCheck{Function: "GlycolFreezePoint", Case: "50 % by volume", Source: "a published frost protection table for ethylene glycol (ASTM D 1177)", Want: -36.8, Got: v, Tolerance: 1.5, Unit: "°C"})
	v, err = GlycolFreezePoint(40)
	noErr(t, err)
	check(t, PublishedCheck{Function: "GlycolFreezePoint", Case: "40 % (-13 °F)", Source: "a published glycol concentration table", Want: -25, Got: v, Tolerance: 1.5, Unit: "°C"})
	v, err = GlycolFreezePoint(30)
	noErr(t, err)
	check(t, PublishedCheck{Function: "GlycolFreezePoint", Case: "30 % (3 °F)", Source: "a published glycol concentration table", Want: -16.1, Got: v, Tolerance: 1.5, Unit: "°C"})
	v, err = GlycolForFreezePoint(-33.8)
	noErr(t, err)
	check(t, PublishedCheck{Function: "GlycolForFreezePoint", Case: "-33.8 °C", Source: "ASHRAE Handbook, Fundamentals", Where: "freezing points of aqueous ethylene glycol", Want: 47.6, Got: v, Tolerance: 1e-9, Unit: "vol %", FromMemory: true})
	m, err := MixCoolant(1000, -22.3)
	noErr(t, err)
	check(t, PublishedCheck{Function: "MixCoolant", Case: "1 l for -22.3 °C: concentrate", Source: "ASHRAE Handbook, Fundamentals", Where: "37.5 vol %", Want: 375, Got: m.ConcentrateML, Tolerance: 1e-9, Unit: "ml", FromMemory: true})
	v, err = CoolantExchange(1000, 20, 50)
	noErr(t, err)
	check(t, PublishedCheck{Function: "CoolantExchange", Case: "1 l from 20 to 50 %", Source: "closed form", Where: "V·(c₂-c₁)/(1-c₁)", Want: 375, Got: v, Tolerance: 1e-9, Unit: "ml"})
}

func TestCoolantProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pct := rapid.Float64Range(0, maxGlycolVolPct).Draw(t, "glycol")
		frost, err := GlycolFreezePoint(pct)
		noErr(t, err)
		back, err := GlycolForFreezePoint(frost)
		noErr(t, err)
		if math.Abs(back-pct) > 1e-9 {
			t.Fatalf("%v %% freezes at %v, which takes %v %%", pct, frost, back)
		}
		if more := pct + 0.5; more <= maxGlycolVolPct {
			colder, err := GlycolFreezePoint(more)
			noErr(t, err)
			if colder >= frost {
				t.Fatalf("more glycol freezes earlier: %v, %v", frost, colder)
			}
		}
		m, err := MixCoolant(1200, frost)
		noErr(t, err)
		if m.ConcentrateML < 0 || m.WaterML < 0 || math.Abs(m.ConcentrateML+m.WaterML-1200) > 1e-9 {
			t.Fatalf("%+v does not fill 1200 ml", m)
		}
		start := pct * rapid.Float64Range(0, 1).Draw(t, "start")
		x, err := CoolantExchange(1200, start, pct)
		noErr(t, err)
		if got := ((1200-x)*start/100 + x) / 1200 * 100; math.Abs(got-pct) > 1e-9 {
			t.Fatalf("after exchanging %v ml: %v %%, want %v %%", x, got, pct)
		}
	})
}

func TestOilPublished(t *testing.T) {
	const j300 = "SAE J300 (JAN 2015)"
	for _, c := range []struct {
		grade    string
		cold     float64
		min, max float64
	}{
		{"0W-20", -35, 6.9, 9.3}, {"5W-30", -30, 9.3, 12.5}, {"10W-40", -25, 12.5, 16.3},
		{"15W-50", -20, 16.3, 21.9}, {"20W-60", -15, 21.9, 26.1}, {"25W-16", -10, 6.1, 8.2},
	} {
		v, err := ParseViscosity(c.grade)
		noErr(t, err)
		band, err := v.Ambient()
		noErr(t, err)
		check(t, PublishedCheck{Function: "Viscosity.Ambient", Case: c.grade + ": cold cranking test", Source: j300, Where: "table 1, as reprinted", Want: c.cold, Got: band.Lower, Unit: "°C"})
		k, err := v.Kinematic()
		noErr(t, err)
		check(t, PublishedCheck{Function: "Viscosity.Kinematic", Case: c.grade + ": least at 100 °C", Source: j300, Where: "table 1, as reprinted", Want: c.min, Got: k.Lower, Unit: "mm²/s"})
		check(t, PublishedCheck{Function: "Viscosity.Kinematic", Case: c.grade + ": less than, at 100 °C", Source: j300, Where: "table 1, as reprinted", Want: c.max, Got: k.Upper, Unit: "mm²/s"})
	}
	v, err := ParseViscosity("SAE 10W-40")
	noErr(t, err)
	check(t, PublishedCheck{Function: "ParseViscosity", Case: "SAE 10W-40: hot grade", Source: j300, Where: "clause on multigrade labels", Want: 40, Got: float64(v.Hot), FromMemory: true})
	ok, err := ViscositySuits("10W-40", -20, 35)
	noErr(t, err)
	check(t, PublishedCheck{Function: "ViscositySuits", Case: "10W-40 for -20 to 35 °C (1: suits)", Source: "common practice, no source", Want: 1, Got: truth(ok)})

	for _, c := range []struct {
		required, offered string
		want              float64
	}{
		{"JASO FC", "FD", 1}, {"FD", "FC", 0}, {"FB", "FB", 1}, {"ISO-L-EGD", "JASO FD", 0}, {"JASO FD", "ISO-L-EGD", 1}, {"EGC", "EGD", 1}, {"FC", "EGB", 0},
	} {
		ok, err := TwoStrokeOilSuits(c.required, c.offered)
		noErr(t, err)
		check(t, PublishedCheck{Function: "TwoStrokeOilSuits", Case: c.offered + " for " + c.required + " (1: suits)", Source: "JASO M345, ISO 13738", Want: c.want, Got: truth(ok), FromMemory: true})
	}
	for _, c := range []struct {
		required, offered string
		want              float64
	}{
		{"MA", "MA2", 1}, {"MA", "JASO MA1", 1}, {"MA2", "MA", 0}, {"MA2", "MA1", 0}, {"MA", "MB", 0}, {"JASO MB", "MB", 1},
	} {
		ok, err := WetClutchOilSuits(c.required, c.offered)
		noErr(t, err)
		check(t, PublishedCheck{Function: "WetClutchOilSuits", Case: c.offered + " for " + c.required + " (1: suits)", Source: "JASO T 903:2016, as explained by oil makers", Want: c.want, Got: truth(ok)})
	}
	rank := map[string]float64{"MB": 0, "MA": 1, "MA1": 2, "MA2": 3}
	for _, c := range []struct {
		dynamic, static, stop float64
		class                 string
	}{
		{1.35, 1.45, 1.40, "MA1"}, {1.50, 1.60, 1.60, "MA2"}, {1.50, 1.50, 1.50, "MA"}, {1.34, 1.70, 1.70, "MB"}, {2.50, 2.50, 2.50, "MA2"},
	} {
		class, err := ClutchFrictionClass(c.dynamic, c.static, c.stop)
		noErr(t, err)
		if class != c.class {
			t.Errorf("indices %v: %s, want %s", c, class, c.class)
		}
		check(t, PublishedCheck{Function: "ClutchFrictionClass", Case: fmt.Sprintf("indices %.2f, %.2f, %.2f (0 MB, 1 MA, 2 MA1, 3 MA2)", c.dynamic, c.static, c.stop), Source: "JASO T 903:2016, limits as quoted by an additive maker", Where: "annex A", Want: rank[c.class], Got: rank[class]})
	}
}

func TestParseViscosity(t *testing.T) {
	for in, want := range map[string]Viscosity{
		"10W-40": {10, 40}, "10w40": {10, 40}, "SAE 10 W - 40": {10, 40}, "SAE 30": {-1, 30}, "30": {-1, 30},
		"5W": {5, 0}, "0W-8": {0, 8},
	} {
		got, err := ParseViscosity(in)
		if err != nil || got != want {
			t.Errorf("ParseViscosity(%q) = %v, %v, want %v", in, got, err, want)
			continue
		}
		if back, err := ParseViscosity(got.String()); err != nil || back != got {
			t.Errorf("%v prints %q, which reads %v, %v", want, got.String(), back, err)
		}
	}
	for _, in := range []string{"", "W", "10W-", "10W-45", "75W-90", "7W-40", "010W-40", "10W-40-50", "10WW40", "-30", "SAE", "80W", "10W+40", "3O"} {
		_, err := ParseViscosity(in)
		refused(t, in, err)
	}
	// A single grade has no winter grade: nothing is promised below freezing.
	if ok, err := ViscositySuits("30", -5, 20); err != nil || ok {
		t.Errorf("SAE 30 at -5 °C: %v, %v", ok, err)
	}
	if band, err := (Viscosity{Winter: 10}).Ambient(); err != nil || band.Lower != -25 || !math.IsInf(band.Upper, 1) {
		t.Errorf("10W: %v, %v", band, err)
	}
}

func TestBrakeFluidPublished(t *testing.T) {
	const cfr = "49 CFR 571.116, as quoted by an encyclopedia"
	for grade, want := range map[string][2]float64{"DOT 3": {205, 140}, "DOT 4": {230, 155}, "DOT 5": {260, 180}, "DOT 5.1": {260, 180}} {
		f, err := BrakeFluidGrade(grade)
		noErr(t, err)
		check(t, PublishedCheck{Function: "BrakeFluidGrade", Case: grade + ": dry boiling point", Source: cfr, Where: "S5.1.1", Want: want[0], Got: f.DryBoilingC, Unit: "°C"})
		check(t, PublishedCheck{Function: "BrakeFluidGrade", Case: grade + ": wet boiling point", Source: cfr, Where: "S5.1.2", Want: want[1], Got: f.WetBoilingC, Unit: "°C"})
	}
	for _, c := range []struct {
		a, b string
		want float64
	}{
		{"DOT 4", "DOT 5.1", 1}, {"DOT 4", "DOT 5", 0}, {"DOT 5", "DOT 5.1", 0}, {"mineral", "DOT 4", 0}, {"mineral", "mineral", 1},
	} {
		ok, err := BrakeFluidsMix(c.a, c.b)
		noErr(t, err)
		check(t, PublishedCheck{Function: "BrakeFluidsMix", Case: c.a + " with " + c.b + " (1: may meet)", Source: "common practice, no source", Want: c.want, Got: truth(ok)})
		back, err := BrakeFluidsMix(c.b, c.a)
		noErr(t, err)
		if back != ok {
			t.Errorf("%s with %s: %v, the other way round %v", c.a, c.b, ok, back)
		}
	}
	for _, c := range []struct {
		required, offered string
		want              float64
	}{
		{"DOT 4", "DOT 5.1", 1}, {"DOT 4", "DOT 3", 0}, {"DOT 4", "DOT 5", 0}, {"DOT 5", "DOT 5.1", 0}, {"mineral", "DOT 5.1", 0}, {"DOT 3", "mineral", 0}, {"dot4", "DOT 4", 1},
	} {
		ok, err := BrakeFluidSuits(c.required, c.offered)
		noErr(t, err)
		check(t, PublishedCheck{Function: "BrakeFluidSuits", Case: c.offered + " for " + c.required + " (1: suits)", Source: cfr, Where: "S5.1.1, S5.1.2", Want: c.want, Got: truth(ok)})
		if mix, err := BrakeFluidsMix(c.required, c.offered); err != nil || ok && !mix {
			t.Errorf("%s suits for %s but may not meet it", c.offered, c.required)
		}
	}
}

func TestFluidsRefuse(t *testing.T) {
	nan := math.NaN()
	for name, f := range map[string]func() error{
		"fuel below 0":         func() error { _, err := PremixDose(-1, 50); return err },
		"ratio 0":              func() error { _, err := PremixDose(1, 0); return err },
		"ratio given as share": func() error { _, err := PremixDoseForTotal(1, 0.02); return err },
		"ratio given as 2 %":   func() error { _, err := PremixDose(1, 2); return err },
		"ratio below 5":        func() error { _, err := EffectiveRatio(50, 4.99); return err },
		"no oil":               func() error { _, err := PremixRatio(1, 0); return err },
		"hardly any oil":       func() error { _, err := PremixRatio(1e300, 1e-300); return err },
		"no ratio":             func() error { _, err := EffectiveRatio(); return err },
		"ratio NaN":            func() error { _, err := EffectiveRatio(50, nan); return err },
		"glycol 70 %":          func() error { _, err := GlycolFreezePoint(70); return err },
		"freeze above 0":       func() error { _, err := GlycolForFreezePoint(1); return err },
		"freeze -60":           func() error { _, err := MixCoolant(1000, -60); return err },
		"system NaN":           func() error { _, err := MixCoolant(nan, -20); return err },
		"less than there is":   func() error { _, err := CoolantExchange(1000, 50, 40); return err },
		"grade unknown":        func() error { _, err := ViscositySuits("11W-40", 0, 1); return err },
		"lowest above highest": func() error { _, err := ViscositySuits("10W-40", 10, 0); return err },
		"no hot grade":         func() error { _, err := Viscosity{Winter: 10}.Kinematic(); return err },
		"winter 7":             func() error { _, err := Viscosity{Winter: 7, Hot: 40}.Ambient(); return err },
		"hot 45":               func() error { _, err := Viscosity{Winter: 10, Hot: 45}.Ambient(); return err },
		"two-stroke TC":        func() error { _, err := TwoStrokeOilSuits("FD", "API TC"); return err },
		"two-stroke empty":     func() error { _, err := TwoStrokeOilSuits("", "FD"); return err },
		"clutch oil MC":        func() error { _, err := WetClutchOilSuits("MC", "MA"); return err },
		"clutch oil offered":   func() error { _, err := WetClutchOilSuits("MA", "SN"); return err },
		"index 3":              func() error { _, err := ClutchFrictionClass(3, 2, 2); return err },
		"DOT 6":                func() error { _, err := BrakeFluidGrade("DOT 6"); return err },
		"mix with DOT 6":       func() error { _, err := BrakeFluidsMix("DOT 4", "DOT 6"); return err },
		"suits DOT 6":          func() error { _, err := BrakeFluidSuits("DOT 6", "DOT 4"); return err },
	} {
		refused(t, name, f())
	}
}

func FuzzParseViscosity(f *testing.F) {
	for _, s := range []string{"10W-40", "SAE 30", "5W", "W", "10W-", "0W-8"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		v, err := ParseViscosity(s)
		if err != nil {
			refused(t, s, err)
			return
		}
		if back, err := ParseViscosity(v.String()); err != nil || back != v {
			t.Errorf("%q: %v prints %q, which reads %v, %v", s, v, v.String(), back, err)
		}
		if _, err := v.Ambient(); err != nil {
			t.Errorf("%q: accepted, yet %v", s, err)
		}
	})
}
