package statistic

import (
	"math"
	"math/rand/v2"
	"testing"
)

func TestBenjaminiHochbergPublished(t *testing.T) {
	// The P of a trial of thrombolysis (from memory: the article was not at hand).
	p := []float64{0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.000}
	q, err := BenjaminiHochberg(p)
	if err != nil {
		t.Fatal(err)
	}
	rejected := 0.0
	for _, v := range q {
		if v <= 0.05 {
			rejected++
		}
	}
	check(t, PublishedCheck{Function: "BenjaminiHochberg", Case: "15 tests, rejected at 0.05", Source: "Benjamini and Hochberg 1995", Where: "3.2",
		Want: 4, Got: rejected, FromMemory: true})
	check(t, PublishedCheck{Function: "BenjaminiHochberg", Case: "15 tests, fourth q", Source: "closed form", Where: "0.0095·15/4",
		Want: 0.035625, Got: q[3], Tolerance: toDigits(0.035625, 14)})
	// The sixth, of 0.0278·15/6, is held down by the seventh.
	check(t, PublishedCheck{Function: "BenjaminiHochberg", Case: "15 tests, sixth q", Source: "closed form", Where: "0.0298·15/7",
		Want: 0.0298 * 15 / 7, Got: q[5], Tolerance: toDigits(0.0639, 14)})
	check(t, PublishedCheck{Function: "BenjaminiHochberg", Case: "15 tests, last q", Source: "closed form", Want: 1, Got: q[14]})
}

func TestBenjaminiHochbergProperties(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 18))
	for range 200 {
		p := make([]float64, 1+rng.IntN(60))
		for i := range p {
			p[i] = math.Pow(rng.Float64(), 3)
			if rng.IntN(4) == 0 {
				p[i] = p[rng.IntN(i+1)] // ties
			}
		}
		q, err := BenjaminiHochberg(p)
		if err != nil {
			t.Fatal(err)
		}
		for i := range p {
			if q[i] < p[i] || q[i] > 1 {
				t.Errorf("got q %g for p %g", q[i], p[i])
			}
			for j := range p {
				if p[i] <= p[j] && q[i] > q[j] {
					t.Errorf("got q %g for p %g and %g for %g", q[i], p[i], q[j], p[j])
				}
			}
		}
		// The definition: the largest k with p(k) ≤ k/m·α is what is rejected.
		alpha := rng.Float64()
		var byQ, byStep int
		for i := range p {
			rank := 0
			for j := range p {
				if p[j] <= p[i] {
					rank++
				}
			}
			if p[i] <= float64(rank)/float64(len(p))*alpha {
				byStep = max(byStep, rank)
			}
			if q[i] <= alpha {
				byQ++
			}
		}
		if byQ != byStep {
			t.Errorf("got %d rejected by q, %d by the procedure", byQ, byStep)
		}
		order := rng.Perm(len(p))
		shuffled := make([]float64, len(p))
		for i, j := range order {
			shuffled[i] = p[j]
		}
		again, err := BenjaminiHochberg(shuffled)
		if err != nil {
			t.Fatal(err)
		}
		for i, j := range order {
			if again[i] != q[j] {
				t.Errorf("shuffled: got %g, want %g", again[i], q[j])
			}
		}
	}
}

func TestBenjaminiHochbergEdges(t *testing.T) {
	if q, err := BenjaminiHochberg(nil); err != nil || len(q) != 0 {
		t.Errorf("no tests: got %v, %v", q, err)
	}
	if q, err := BenjaminiHochberg([]float64{0.3}); err != nil || q[0] != 0.3 {
		t.Errorf("one test: got %v, %v", q, err)
	}
	for _, bad := range []float64{math.NaN(), -0.1, 1.1, math.Inf(1)} {
		_, err := BenjaminiHochberg([]float64{0.5, bad})
		wantInputError(t, err, "p[1]")
	}
}
