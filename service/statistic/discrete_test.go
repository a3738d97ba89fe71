package statistic

import (
	"math"
	"math/big"
	"testing"
)

// exactBinomialUpper sums the tail in rational arithmetic.
func exactBinomialUpper(k, n int64, p float64) float64 {
	hit := new(big.Rat).SetFloat64(p)
	miss := new(big.Rat).Sub(big.NewRat(1, 1), hit)
	power := func(r *big.Rat, e int64) *big.Rat {
		num := new(big.Int).Exp(r.Num(), big.NewInt(e), nil)
		return new(big.Rat).SetFrac(num, new(big.Int).Exp(r.Denom(), big.NewInt(e), nil))
	}
	sum := new(big.Rat)
	for i := k; i <= n; i++ {
		term := new(big.Rat).SetInt(new(big.Int).Binomial(n, i))
		term.Mul(term, power(hit, i))
		sum.Add(sum, term.Mul(term, power(miss, n-i)))
	}
	f, _ := sum.Float64()
	return f
}

func TestBinomialUpper(t *testing.T) {
	const where = "binomtest and its tests"
	check(t, PublishedCheck{Function: "BinomialUpper", Case: "3 of 15 at 0.1", Source: "scipy 1.10.1", Where: where,
		Want: 0.18406106910639114, Got: BinomialUpper(3, 15, 0.1), Tolerance: toDigits(0.184, 14)})
	check(t, PublishedCheck{Function: "BinomialUpper", Case: "20 of 100 at 0.25", Source: "R 3.6.2 binom.test", Where: "as in scipy 1.10.1, TestBinomTest",
		Want: 0.9004695898947, Got: BinomialUpper(20, 100, 0.25), Tolerance: 0.6e-13})
	check(t, PublishedCheck{Function: "BinomialUpper", Case: "3 of 50 at 0.2", Source: "R 3.6.2 binom.test", Where: "as in scipy 1.10.1, TestBinomTest",
		Want: 0.9987146, Got: BinomialUpper(3, 50, 0.2), Tolerance: 0.6e-7})
	check(t, PublishedCheck{Function: "BinomialUpper", Case: "10 of 10 at 0.25", Source: "R 3.6.2 binom.test", Where: "as in scipy 1.10.1, TestBinomTest",
		Want: 9.536743e-07, Got: BinomialUpper(10, 10, 0.25), Tolerance: 0.6e-13})
	check(t, PublishedCheck{Function: "BinomialUpper", Case: "50 of 50 at 0.001", Source: "closed form", Where: "p^n",
		Want: 1e-150, Got: BinomialUpper(50, 50, 0.001), Tolerance: toDigits(1e-150, 13)})

	for _, n := range []int64{1, 2, 7, 50} {
		for _, p := range []float64{1e-9, 0.01, 0.3, 0.5, 0.9, 0.999} {
			last := 1.0
			for k := int64(0); k <= n; k += 1 + n/9 {
				got, want := BinomialUpper(k, n, p), exactBinomialUpper(k, n, p)
				if math.Abs(got-want) > 1e-12*want && want > 1e-290 {
					t.Errorf("%d of %d at %g: got %g, want %g", k, n, p, got, want)
				}
				if got > last {
					t.Errorf("%d of %d at %g: got %g, more than %g before", k, n, p, got, last)
				}
				last = got
			}
		}
	}
	for _, c := range []struct {
		k, n    int64
		p, want float64
	}{
		{0, 5, 0.5, 1}, {-1, 5, 0.5, 1}, {6, 5, 0.5, 0}, {1, 5, 0, 0}, {5, 5, 1, 1}, {0, 0, 0.5, 1}, {1, 0, 0.5, 0},
		{1, -1, 0.5, math.NaN()}, {1, 5, -0.1, math.NaN()}, {1, 5, 1.1, math.NaN()}, {1, 5, math.NaN(), math.NaN()},
	} {
		if got := BinomialUpper(c.k, c.n, c.p); got != c.want && !(math.IsNaN(got) && math.IsNaN(c.want)) {
			t.Errorf("%d of %d at %g: got %g, want %g", c.k, c.n, c.p, got, c.want)
		}
	}
}

func TestPoissonUpper(t *testing.T) {
	want := 1 - 2.5/math.E
	check(t, PublishedCheck{Function: "PoissonUpper", Case: "3 or more of 1", Source: "closed form", Where: "1 - 2.5/e",
		Want: want, Got: PoissonUpper(3, 1), Tolerance: toDigits(want, 13)})
	want = -math.Expm1(-1e-9)
	check(t, PublishedCheck{Function: "PoissonUpper", Case: "1 or more of 1e-9", Source: "closed form", Where: "1 - exp(-m)",
		Want: want, Got: PoissonUpper(1, 1e-9), Tolerance: toDigits(want, 13)})

	for _, mean := range []float64{1e-6, 0.5, 3, 40, 900} {
		for _, k := range []int64{1, 2, 10, 50, 1000} {
			// The tail as a series in the ratio of terms, all positive.
			sum, term := 1.0, 1.0
			for i := float64(k) + 1; i < float64(k)+20000 && term > 1e-20*sum; i++ {
				term *= mean / i
				sum += term
			}
			lg, _ := math.Lgamma(float64(k) + 1)
			want := float64(k)*math.Log(mean) - mean - lg + math.Log(sum)
			if got := math.Log(PoissonUpper(k, mean)); want > -700 && math.Abs(got-want) > 1e-11*(1+math.Abs(want)) {
				t.Errorf("%d or more of %g: got a logarithm of %g, want %g", k, mean, got, want)
			}
		}
	}
	for _, c := range []struct {
		k          int64
		mean, want float64
	}{
		{0, 3, 1}, {-2, 3, 1}, {1, 0, 0}, {0, 0, 1},
		{1, -1, math.NaN()}, {1, math.NaN(), math.NaN()}, {1, math.Inf(1), math.NaN()},
	} {
		if got := PoissonUpper(c.k, c.mean); got != c.want && !(math.IsNaN(got) && math.IsNaN(c.want)) {
			t.Errorf("%d or more of %g: got %g, want %g", c.k, c.mean, got, c.want)
		}
	}
}
