package statistic

import (
	"math"
	"math/rand/v2"
	"testing"
)

func TestWilsonPublished(t *testing.T) {
	row := func(name string, got, want, tolerance float64, source, where string) {
		check(t, PublishedCheck{Function: "Wilson", Case: name, Source: source, Where: where, Want: want, Got: got, Tolerance: tolerance})
	}
	interval := func(successes, trials int64, confidence float64) Interval {
		i, err := Wilson(successes, trials, confidence)
		if err != nil {
			t.Fatal(err)
		}
		return i
	}
	row("26 of 200, lower, one-sided 95 %", interval(26, 200, 0.90).Lower, 0.09577, 0.6e-5, "NIST/SEMATECH e-Handbook", "7.2.4.1")
	const r, test = "R 3.6.2 prop.test", "as in scipy 1.10.1, TestBinomTest.test_ci_wilson_method"
	row("3 of 10, lower, 95 %", interval(3, 10, 0.95).Lower, 0.1077913, 0.6e-7, r, test)
	row("3 of 10, upper, 95 %", interval(3, 10, 0.95).Upper, 0.6032219, 0.6e-7, r, test)
	row("3 of 10, lower, 99 %", interval(3, 10, 0.99).Lower, 0.07956632, 0.6e-8, r, test)
	row("3 of 10, upper, 99 %", interval(3, 10, 0.99).Upper, 0.6799753, 0.6e-7, r, test)
	row("0 of 10, upper, 95 %", interval(0, 10, 0.95).Upper, 0.2775328, 0.6e-7, r, test)
	row("10 of 10, lower, 95 %", interval(10, 10, 0.95).Lower, 0.7224672, 0.6e-7, r, test)
}

func TestClopperPearsonPublished(t *testing.T) {
	row := func(name string, got, want, tolerance float64, source, where string) {
		check(t, PublishedCheck{Function: "ClopperPearson", Case: name, Source: source, Where: where, Want: want, Got: got, Tolerance: tolerance})
	}
	interval := func(successes, trials int64, confidence float64) Interval {
		i, err := ClopperPearson(successes, trials, confidence)
		if err != nil {
			t.Fatal(err)
		}
		return i
	}
	// The page finds its limits with a root finder that stops early: the upper
	// one is 0.4010281 to more digits, one less in the last that is printed.
	row("4 of 20, lower, 90 %", interval(4, 20, 0.90).Lower, 0.071354, 0.6e-6, "NIST/SEMATECH e-Handbook", "7.2.4.1")
	row("4 of 20, upper, 90 %", interval(4, 20, 0.90).Upper, 0.401029, 1.6e-6, "NIST/SEMATECH e-Handbook", "7.2.4.1")
	const r, test = "R 3.6.2 binom.test", "as in scipy 1.10.1, TestBinomTest"
	row("20 of 100, lower, 95 %", interval(20, 100, 0.95).Lower, 0.1266555521019559, 2e-14, r, test)
	row("20 of 100, upper, 95 %", interval(20, 100, 0.95).Upper, 0.2918426890886281, 2e-14, r, test)
	row("3 of 50, lower, 99 %", interval(3, 50, 0.99).Lower, 0.006872485, 0.6e-9, r, test)
	row("3 of 50, upper, 99 %", interval(3, 50, 0.99).Upper, 0.202706269, 0.6e-9, r, test)
	row("0 of 10, upper, 95 %", interval(0, 10, 0.95).Upper, 0.3084971, 0.6e-7, r, test)
	row("10 of 10, lower, 95 %", interval(10, 10, 0.95).Lower, 0.6915029, 0.6e-7, r, test)
	want := -math.Expm1(math.Log(5e-7) / 76)
	row("0 of 76, upper, 99.9999 %", interval(0, 76, 0.999999).Upper, want, toDigits(want, 9), "closed form", "1 - (α/2)^(1/n)")
	want = -math.Expm1(math.Log(0.025) / 1e9)
	row("0 of 1e9, upper, 95 %", interval(0, 1e9, 0.95).Upper, want, toDigits(want, 12), "closed form", "1 - (α/2)^(1/n)")
}

func TestProportionIntervals(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	for range 2000 {
		trials := 1 + rng.Int64N(1<<rng.IntN(25))
		successes := rng.Int64N(trials + 1)
		confidence := []float64{0.01, 0.5, 0.9, 0.95, 0.99, 0.999999}[rng.IntN(6)]
		estimate := float64(successes) / float64(trials)
		wilson, err := Wilson(successes, trials, confidence)
		if err != nil {
			t.Fatal(err)
		}
		exact, err := ClopperPearson(successes, trials, confidence)
		if err != nil {
			t.Fatal(err)
		}
		for _, i := range []Interval{wilson, exact} {
			if !i.Contains(estimate) || i.Lower < 0 || i.Upper > 1 {
				t.Errorf("%d of %d, %g: got %+v", successes, trials, confidence, i)
			}
			if (successes == 0) != (i.Lower == 0) || (successes == trials) != (i.Upper == 1) {
				t.Errorf("%d of %d, %g: got %+v", successes, trials, confidence, i)
			}
		}
		side := (1 - confidence) / 2
		tolerance := 1e-9 + 1e-14/side
		if successes > 0 {
			if got := BinomialUpper(successes, trials, exact.Lower); confidence > 0.4 && math.Abs(got-side) > tolerance*side {
				t.Errorf("%d of %d, %g: at the lower limit the tail is %g, want %g", successes, trials, confidence, got, side)
			}
		}
		if successes < trials {
			if got := BinomialUpper(trials-successes, trials, 1-exact.Upper); confidence > 0.4 && math.Abs(got-side) > max(tolerance, 1e-15*float64(trials)/(1-exact.Upper))*side {
				t.Errorf("%d of %d, %g: at the upper limit the tail is %g, want %g", successes, trials, confidence, got, side)
			}
		}
		mirrored, err := Wilson(trials-successes, trials, confidence)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(wilson.Lower-(1-mirrored.Upper)) > 1e-14 {
			t.Errorf("%d of %d, %g: got %+v and mirrored %+v", successes, trials, confidence, wilson, mirrored)
		}
	}
	for _, f := range []func(int64, int64, float64) (Interval, error){Wilson, ClopperPearson} {
		_, err := f(0, 0, 0.95)
		wantInputError(t, err, "trials")
		_, err = f(-1, 2, 0.95)
		wantInputError(t, err, "successes")
		_, err = f(3, 2, 0.95)
		wantInputError(t, err, "successes")
		for _, confidence := range []float64{0, 1, -1, math.NaN()} {
			_, err = f(1, 2, confidence)
			wantInputError(t, err, "confidence")
		}
	}
}

func TestInterval(t *testing.T) {
	i := Interval{Lower: 1, Upper: 2}
	got := 0.0
	for _, v := range []float64{1, 1.5, 2, 0.999, 2.001, math.NaN(), math.Inf(1)} {
		if i.Contains(v) {
			got++
		}
	}
	check(t, PublishedCheck{Function: "Interval.Contains", Case: "1 to 2 holds how many of 1, 1.5, 2, 0.999, 2.001, NaN, +Inf", Source: "closed form", Want: 3, Got: got})
}

func BenchmarkClopperPearson(b *testing.B) {
	for range b.N {
		if _, err := ClopperPearson(20, 100, 0.95); err != nil {
			b.Fatal(err)
		}
	}
}
