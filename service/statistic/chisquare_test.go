package statistic

import (
	"math"
	"testing"
)

func TestChiSquareFitPublished(t *testing.T) {
	observed := []int64{16, 18, 16, 14, 12, 12}
	mean := 88.0 / 6
	equal := []float64{mean, mean, mean, mean, mean, mean}
	const source, where = "scipy 1.10.1", "stats.chisquare, examples"
	row := func(name string, got, want, tolerance float64) {
		check(t, PublishedCheck{Function: "ChiSquareFit", Case: name, Source: source, Where: where, Want: want, Got: got, Tolerance: tolerance})
	}
	fit := func(observed []int64, expected []float64, fitted int) ChiSquare {
		r, err := ChiSquareFit(observed, expected, fitted)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	r := fit(observed, equal, 0)
	row("six equal cells, statistic", r.Statistic, 2, toDigits(2, 14))
	row("six equal cells, P", r.P, 0.84914503608460956, toDigits(0.849, 13))
	row("six equal cells, one parameter fitted, P", fit(observed, equal, 1).P, 0.73575888234288467, toDigits(0.736, 13))
	r = fit(observed, []float64{16, 16, 16, 16, 16, 8}, 0)
	row("six unequal cells, statistic", r.Statistic, 3.5, toDigits(3.5, 14))
	row("six unequal cells, P", r.P, 0.62338762774958223, toDigits(0.623, 13))
	check(t, PublishedCheck{Function: "ChiSquareFit", Case: "six unequal cells, w", Source: "closed form", Where: "√(3.5/88)",
		Want: math.Sqrt(3.5 / 88), Got: r.W, Tolerance: 1e-15})

	peas := fit([]int64{315, 108, 101, 32}, []float64{556 * 9.0 / 16, 556 * 3.0 / 16, 556 * 3.0 / 16, 556 * 1.0 / 16}, 0)
	const mendel = "Mendel's peas, 9:3:3:1, in many textbooks"
	check(t, PublishedCheck{Function: "ChiSquareFit", Case: "peas, statistic", Source: mendel, Want: 0.470, Got: peas.Statistic, Tolerance: 0.6e-3, FromMemory: true})
	check(t, PublishedCheck{Function: "ChiSquareFit", Case: "peas, P", Source: mendel, Want: 0.925, Got: peas.P, Tolerance: 0.6e-3, FromMemory: true})

	two := fit([]int64{220, 180}, []float64{200, 200}, 0)
	check(t, PublishedCheck{Function: "ChiSquareFit", Case: "220 and 180 of 200 each, P", Source: "closed form", Where: "2·(1-Φ(2))",
		Want: 0.04550026389635842, Got: two.P, Tolerance: toDigits(0.0455, 13)})
	near(t, "two-sided 95 %", normalTwoSided(0.95), 1.9599639845400545)
}

func TestChiSquareFitEdges(t *testing.T) {
	dropped, err := ChiSquareFit([]int64{0, 12, 8, 0}, []float64{0, 10, 10, 0}, 0)
	if err != nil {
		t.Fatal(err)
	}
	kept, err := ChiSquareFit([]int64{12, 8}, []float64{10, 10}, 0)
	if err != nil || dropped != kept {
		t.Errorf("empty cells: got %+v, want %+v", dropped, kept)
	}
	exact, err := ChiSquareFit([]int64{10, 10}, []float64{10, 10}, 0)
	if err != nil || exact != (ChiSquare{DF: 1, P: 1}) {
		t.Errorf("exact fit: got %+v, %v", exact, err)
	}
	for _, c := range []struct {
		param    string
		observed []int64
		expected []float64
		fitted   int
	}{
		{"expected", []int64{1, 2}, []float64{3}, 0},
		{"fitted", []int64{10, 10}, []float64{10, 10}, -1},
		{"observed[0]", []int64{-1, 10}, []float64{10, 10}, 0},
		{"expected[1]", []int64{10, 10}, []float64{15.5, 4.5}, 0},
		{"expected[1]", []int64{10, 1}, []float64{11, 0}, 0},
		{"expected[0]", []int64{10, 10}, []float64{math.NaN(), 10}, 0},
		{"expected[0]", []int64{10, 10}, []float64{math.Inf(1), 10}, 0},
		{"observed", nil, nil, 0},
		{"observed", []int64{10}, []float64{10}, 0},
		{"observed", []int64{10, 10, 10}, []float64{10, 10, 10}, 2},
		{"expected", []int64{10, 10}, []float64{10, 11}, 0},
	} {
		_, err := ChiSquareFit(c.observed, c.expected, c.fitted)
		wantInputError(t, err, c.param)
	}
}

// TestChiSquareTail holds the tail to the closed form for even degrees of freedom.
func TestChiSquareTail(t *testing.T) {
	for _, df := range []float64{2, 4, 10, 40} {
		for _, x := range []float64{0.1, 1, 5, 40, 200, 1000} {
			term, sum := 1.0, 1.0
			for i := 1.0; i < df/2; i++ {
				term *= x / 2 / i
				sum += term
			}
			near(t, "tail", chiSquareUpper(x, df), math.Exp(-x/2)*sum)
		}
	}
	if chiSquareUpper(math.Inf(1), 3) != 0 || tTwoSided(math.Inf(-1), 3) != 0 || fUpper(math.Inf(1), 1, 2) != 0 {
		t.Error("the tail beyond infinity is not 0")
	}
}
