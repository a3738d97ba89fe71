package audit

import (
	"math"
	"math/rand/v2"
	"testing"
)

// hypergeometric is the probability that k or more of all hits are among n of all.
func hypergeometric(k, n, allHits, all int64) float64 {
	choose := func(n, k int64) float64 {
		a, _ := math.Lgamma(float64(n + 1))
		b, _ := math.Lgamma(float64(k + 1))
		c, _ := math.Lgamma(float64(n - k + 1))
		return a - b - c
	}
	sum := 0.0
	for x := max(k, n+allHits-all); x <= min(n, allHits); x++ {
		sum += math.Exp(choose(allHits, x) + choose(all-allHits, n-x) - choose(all, n))
	}
	return sum
}

// The p-value is never below that of Fisher's exact test, to which it is near where
// the person is one of many.
func TestComparisonIsSafe(t *testing.T) {
	for _, c := range []struct {
		n, k, all, allHits int64
		near               float64 // most times the exact one
	}{
		{200, 3, 10_000, 3, 1.02},
		{200, 4, 10_000, 10, 1.05},
		{200, 30, 10_000, 500, 1.6},
		{1000, 3, 30_000, 4, 1.1},
		{20, 15, 40, 15, 100}, // half of all: far on the safe side
		{1000, 130, 1020, 130, math.Inf(1)},
	} {
		var got comparison
		got.add(c.n, c.k, c.all, c.allHits)
		exact := hypergeometric(c.k, c.n, c.allHits, c.all)
		if p := got.p(); p < exact*(1-1e-9) || p > exact*c.near {
			t.Errorf("%+v: got %g, exact %g", c, p, exact)
		}
	}
}

// However few the others are, what they happen not to show makes nobody stand out:
// p-values are no smaller than uniform ones.
func TestComparisonWithFewOthers(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	hits := func(n int64, share float64) (k int64) {
		for range n {
			if rng.Float64() < share {
				k++
			}
		}
		return k
	}
	for _, share := range []float64{0.005, 0.05, 0.3} {
		const rounds = 4000
		low := map[float64]int{}
		for range rounds {
			var c comparison
			for _, n := range [][2]int64{{300, 20}, {50, 5}, {20, 200}} {
				k, theirs := hits(n[0], share), hits(n[1], share)
				c.add(n[0], k, n[0]+n[1], k+theirs)
			}
			for _, level := range []float64{0.05, 0.01, 0.001} {
				if c.p() <= level {
					low[level]++
				}
			}
		}
		for level, n := range low {
			if got := float64(n) / rounds; got > level+3*math.Sqrt(level/rounds) {
				t.Errorf("share %v: %.4f of the p-values are at most %v", share, got, level)
			}
		}
	}
}

// A stratum where nobody else is compares nothing, and the odds ratio is a number
// where none of the others show a sign.
func TestComparisonEdges(t *testing.T) {
	var alone comparison
	alone.add(50, 40, 50, 40)
	if alone.n != 0 || alone.p() != 1 {
		t.Errorf("nobody else: got %+v", alone)
	}
	var only comparison
	only.add(100, 30, 1000, 30)
	odds := only.odds()
	if !(odds.GetValue() > 100 && odds.GetValue() < 1e6) || !(odds.GetLower() > 1) || !(odds.GetUpper() > odds.GetValue()) {
		t.Errorf("none of the others: got %v", odds)
	}
	only = comparison{}
	only.add(100, 30, 1100, 130)
	if d := only.difference(); math.Abs(d.GetValue()-0.2) > 1e-12 || !(d.GetLower() > 0.1 && d.GetLower() < 0.2) || !(d.GetUpper() > 0.2 && d.GetUpper() < 0.31) {
		t.Errorf("got %v", d)
	}
}
