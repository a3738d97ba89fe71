package workshop

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestJettingPublished(t *testing.T) {
	n, err := MainJetNumber(200, JetByFlow, dryAir(1), dryAir(0.81))
	noErr(t, err)
	check(t, PublishedCheck{Function: "MainJetNumber", Case: "flow number 200, density 1 to 0.81", Source: "closed form (Bernoulli)", Where: "200·√0.81", Want: 180, Got: n, Tolerance: 1e-9})
	n, err = MainJetNumber(180, JetByDiameter, dryAir(1), dryAir(0.6561))
	noErr(t, err)
	check(t, PublishedCheck{Function: "MainJetNumber", Case: "diameter number 180, density 1 to 0.6561", Source: "closed form (Bernoulli)", Where: "180·0.6561^¼", Want: 162, Got: n, Tolerance: 1e-9})
	n, err = MainJetNumber(100, JetByFlow, dryAir(1), RelativeDensity{Total: 0.81, Dry: 0.72})
	noErr(t, err)
	check(t, PublishedCheck{Function: "MainJetNumber", Case: "flow number 100, density 1 to 0.81 of which 0.72 dry", Source: "closed form (Bernoulli)", Where: "100·0.72/√0.81", Want: 80, Got: n, Tolerance: 1e-9})
	jet, err := JetForNumber(172.3, []float64{180, 165, 168, 170, 172, 175, 178})
	noErr(t, err)
	check(t, PublishedCheck{Function: "JetForNumber", Case: "172.3 from 165, 168, 170, 172, 175, 178, 180: the richer neighbour", Source: "common practice, no source", Want: 175, Got: jet})

	band, err := IdleCheckBand(1500, 100, 80, 70, false)
	noErr(t, err)
	check(t, PublishedCheck{Function: "IdleCheckBand", Case: "1500 ± 100 rpm, warm: lower limit", Source: "closed form", Want: 1400, Got: band.LowRPM, Unit: "rpm"})
	check(t, PublishedCheck{Function: "IdleCheckBand", Case: "1500 ± 100 rpm, warm: reading counts", Source: "common practice, no source", Where: "idle is set warm", Want: 1, Got: truth(band.State == IdleReady)})
	band, err = IdleCheckBand(1500, 100, 80, 70, true)
	noErr(t, err)
	check(t, PublishedCheck{Function: "IdleCheckBand", Case: "warm on double oil: reading counts", Source: "common practice, no source", Where: "not while the engine still runs on double oil", Want: 0, Got: truth(band.State == IdleReady)})
}

func dryAir(density float64) RelativeDensity { return RelativeDensity{Total: density, Dry: density} }

func TestIdleStates(t *testing.T) {
	for _, c := range []struct {
		tempC     float64
		doubleOil bool
		want      IdleState
		name      string
	}{
		{20, false, IdleCold, "engine cold"},
		{70, false, IdleReady, "ready"},
		{20, true, IdleDoubleOil, "double oil in the first tank"},
	} {
		band, err := IdleCheckBand(1500, 100, c.tempC, 70, c.doubleOil)
		noErr(t, err)
		if band.State != c.want || band.State.String() != c.name {
			t.Errorf("%g °C, double oil %t: %v", c.tempC, c.doubleOil, band.State)
		}
	}
	if got := IdleState(0).String(); got != "unknown" {
		t.Errorf("IdleState(0) is %q", got)
	}
	_, err := IdleCheckBand(1500, 1500, 80, 70, false)
	refused(t, "tolerance as large as the idle speed", err)
	_, err = IdleCheckBand(1500, 100, math.NaN(), 70, false)
	refused(t, "temperature NaN", err)
}

func TestJettingRefuses(t *testing.T) {
	_, err := MainJetNumber(200, 0, dryAir(1), dryAir(1))
	refused(t, "no numbering", err)
	_, err = MainJetNumber(200, JetByFlow, dryAir(0), dryAir(1))
	refused(t, "no air", err)
	_, err = MainJetNumber(200, JetByFlow, dryAir(1), RelativeDensity{Total: 0.8, Dry: 0.9})
	refused(t, "dry part above the whole", err)
	_, err = JetForNumber(200, nil)
	refused(t, "no jets", err)
	_, err = JetForNumber(200, []float64{150, 199})
	refused(t, "no jet large enough", err)
	_, err = JetForNumber(200, []float64{math.NaN(), 210})
	refused(t, "jet NaN", err)
	_, err = JetForNumber(0, []float64{210})
	refused(t, "number 0", err)
	for numbering, want := range map[JetNumbering]string{JetByFlow: "flow", JetByDiameter: "diameter", 0: "unknown"} {
		if got := numbering.String(); got != want {
			t.Errorf("numbering %d is %q, want %q", int(numbering), got, want)
		}
	}
}

func TestJettingProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.Float64Range(60, 500).Draw(t, "number")
		damp := func(label string) RelativeDensity {
			total := rapid.Float64Range(0.4, 1.3).Draw(t, label)
			return RelativeDensity{Total: total, Dry: total * rapid.Float64Range(0.9, 1).Draw(t, label+" dry part")}
		}
		from, to := damp("from"), damp("to")
		numbering := rapid.SampledFrom([]JetNumbering{JetByFlow, JetByDiameter}).Draw(t, "numbering")
		there, err := MainJetNumber(number, numbering, from, to)
		noErr(t, err)
		back, err := MainJetNumber(there, numbering, to, from)
		noErr(t, err)
		if math.Abs(back-number) > 1e-9*number {
			t.Fatalf("there and back: %g, was %g", back, number)
		}
		thinner, err := MainJetNumber(number, numbering, from, RelativeDensity{Total: to.Total * 0.99, Dry: to.Dry * 0.99})
		noErr(t, err)
		if thinner >= there {
			t.Fatalf("thinner air, no smaller jet: %g after %g", thinner, there)
		}
		// Both numberings must mean the same bore.
		byFlow, err := MainJetNumber(number, JetByFlow, from, to)
		noErr(t, err)
		byDiameter, err := MainJetNumber(number, JetByDiameter, from, to)
		noErr(t, err)
		if area := byDiameter / number * byDiameter / number; math.Abs(area-byFlow/number) > 1e-9 {
			t.Fatalf("area factor %g by diameter, %g by flow", area, byFlow/number)
		}

		series := rapid.SliceOfN(rapid.Float64Range(60, 500), 1, 20).Draw(t, "series")
		jet, err := JetForNumber(number, series)
		for _, s := range series {
			if err != nil && s >= number || err == nil && s >= number && s < jet {
				t.Fatalf("%g from %v gave %g, %v", number, series, jet, err)
			}
		}
		if err == nil && jet < number*(1-1e-8) {
			t.Fatalf("%g gave the leaner %g", number, jet)
		}
	})
}
