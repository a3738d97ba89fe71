package statistic

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mathext"
)

// TestBetaAgainstGonum compares where gonum's function is good.
func TestBetaAgainstGonum(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 22))
	for range 5000 {
		a, b := math.Exp(6*rng.Float64()-1), math.Exp(6*rng.Float64()-1)
		x := rng.Float64()
		got, want := betaLower(a, b, x, 1-x), mathext.RegIncBeta(a, b, x)
		if math.Abs(got-want) > 1e-11*want && want > 1e-290 {
			t.Errorf("a %g, b %g, x %g: got %g, gonum %g", a, b, x, got, want)
		}
	}
}

// TestBinomialUpperLarge sums tails with 200 bits: the ratio of the terms to the
// first by recursion, the first from the sum of all.
func TestBinomialUpperLarge(t *testing.T) {
	for _, c := range []struct {
		k, n int64
		p    float64
	}{
		{310, 1000, 0.3}, {30300, 100000, 0.3}, {31000, 100000, 0.3}, {12, 1000000, 1e-6}, {40, 1000000, 1e-6},
		{6441109, 16261687, 6441109.0 / 16261687}, {6445109, 16261687, 6441109.0 / 16261687}, {500030000, 1000000000, 0.5},
	} {
		const bits = 200
		float := func(v float64) *big.Float { return new(big.Float).SetPrec(bits).SetFloat64(v) }
		odds := float(c.p)
		odds.Quo(odds, float(0).Sub(float(1), float(c.p)))
		// Terms relative to that of k, upwards and downwards, until they vanish.
		upper, lower := float(0), float(0)
		for term, i := float(1), c.k; i <= c.n; i++ {
			upper.Add(upper, term)
			term.Mul(term, odds)
			term.Mul(term, float(float64(c.n-i)))
			term.Quo(term, float(float64(i+1)))
			if term.Sign() == 0 || term.MantExp(nil) < upper.MantExp(nil)-70 {
				break
			}
		}
		for term, i := float(1), c.k; i > 0; i-- {
			term.Mul(term, float(float64(i)))
			term.Quo(term, odds)
			term.Quo(term, float(float64(c.n-i+1)))
			lower.Add(lower, term)
			if term.MantExp(nil) < lower.MantExp(nil)-70 {
				break
			}
		}
		want, _ := float(0).Quo(upper, float(0).Add(upper, lower)).Float64()
		if got := BinomialUpper(c.k, c.n, c.p); math.Abs(got-want) > (1e-13+1e-15*math.Sqrt(float64(c.n)))*want {
			t.Errorf("%d of %d at %g: got %.16g, want %.16g", c.k, c.n, c.p, got, want)
		}
	}
}

// TestTailsOfManyDegreesOfFreedom: t and F approach the normal and the chi-square
// distribution, the first by about (z+z³)/(4·df)·density.
func TestTailsOfManyDegreesOfFreedom(t *testing.T) {
	const df = 1e8
	for _, z := range []float64{0.01, 0.5, 1, 2, 4} {
		want := 2*normalUpper(z) + (z+z*z*z)/(2*df)*math.Exp(-z*z/2)/math.Sqrt(2*math.Pi)
		if got := tTwoSided(z, df); math.Abs(got-want) > 1e-12*want {
			t.Errorf("t %g: got %.15g, want %.15g", z, got, want)
		}
		if got := fUpper(z*z, 1, df); math.Abs(got-want) > 1e-12*want {
			t.Errorf("F %g: got %.15g, want %.15g", z*z, got, want)
		}
		if got, want := fUpper(z, 5, df), chiSquareUpper(5*z, 5); math.Abs(got-want) > 1e-5*want {
			t.Errorf("F %g: got %.15g, want %.15g", z, got, want)
		}
	}
}
