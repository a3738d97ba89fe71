package statistic

import (
	"math"
	"math/rand/v2"
	"testing"
)

func TestROCPublished(t *testing.T) {
	check(t, PublishedCheck{Function: "AUC", Case: "ages of 5 men and 4 women: 17 of 20 pairs", Source: "scipy 1.10.1", Where: "mannwhitneyu, example",
		Want: 17.0 / 20, Got: AUC([]float64{19, 22, 16, 29, 24}, []float64{20, 11, 17, 12}), Tolerance: 1e-15})
	positives, negatives := []float64{0.35, 0.8}, []float64{0.1, 0.4}
	const source = "scikit-learn documentation"
	check(t, PublishedCheck{Function: "AUC", Case: "0.35, 0.8 against 0.1, 0.4", Source: source, Where: "roc_auc_score, example",
		Want: 0.75, Got: AUC(positives, negatives), Tolerance: 1e-15, FromMemory: true})
	want := []Point{{math.Inf(1), 0, 0}, {0.8, 0.5, 0}, {0.4, 0.5, 0.5}, {0.35, 1, 0.5}, {0.1, 1, 1}}
	got := ROC(positives, negatives)
	if len(got) != len(want) {
		t.Fatalf("got %v, want %v", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("point %d: got %v, want %v", i, got[i], want[i])
		}
	}
	check(t, PublishedCheck{Function: "ROC", Case: "0.35, 0.8 against 0.1, 0.4: true positive rate at 0.4", Source: source, Where: "roc_curve, example",
		Want: 0.5, Got: got[2].TruePositiveRate, Tolerance: 1e-15, FromMemory: true})
	check(t, PublishedCheck{Function: "ROC", Case: "0.35, 0.8 against 0.1, 0.4: false positive rate at 0.35", Source: source, Where: "roc_curve, example",
		Want: 0.5, Got: got[3].FalsePositiveRate, Tolerance: 1e-15, FromMemory: true})
}

func TestROCAndAUC(t *testing.T) {
	rng := rand.New(rand.NewPCG(19, 20))
	scores := func(n, distinct int) []float64 {
		s := make([]float64, n)
		for i := range s {
			s[i] = float64(rng.IntN(distinct))
		}
		return s
	}
	for range 200 {
		positives := scores(1+rng.IntN(30), 1+rng.IntN(20))
		negatives := scores(1+rng.IntN(30), 1+rng.IntN(20))
		var wins float64
		for _, p := range positives {
			for _, n := range negatives {
				switch {
				case p > n:
					wins++
				case p == n:
					wins += 0.5
				}
			}
		}
		auc := AUC(positives, negatives)
		near(t, "area", auc, wins/float64(len(positives)*len(negatives)))
		if math.Abs(auc+AUC(negatives, positives)-1) > 1e-14 {
			t.Errorf("swapped: got %g and %g", auc, AUC(negatives, positives))
		}
		points := ROC(positives, negatives)
		var area float64
		for i, p := range points[1:] {
			before := points[i]
			if p.Threshold >= before.Threshold || p.TruePositiveRate < before.TruePositiveRate || p.FalsePositiveRate < before.FalsePositiveRate {
				t.Errorf("got %v after %v", p, before)
			}
			area += (p.FalsePositiveRate - before.FalsePositiveRate) * (p.TruePositiveRate + before.TruePositiveRate) / 2
			var called float64
			for _, v := range positives {
				if v >= p.Threshold {
					called++
				}
			}
			near(t, "true positive rate", p.TruePositiveRate, called/float64(len(positives)))
		}
		if last := points[len(points)-1]; last.TruePositiveRate != 1 || last.FalsePositiveRate != 1 {
			t.Errorf("got %v last", last)
		}
		if math.Abs(area-auc) > 1e-12 {
			t.Errorf("got an area of %g under the curve, want %g", area, auc)
		}
	}
}

func TestROCEdges(t *testing.T) {
	one, nan := []float64{1}, []float64{0, math.NaN()}
	for _, lists := range [][2][]float64{{nil, one}, {one, nil}, {nan, one}, {one, nan}} {
		if got := AUC(lists[0], lists[1]); !math.IsNaN(got) {
			t.Errorf("%v: got an area of %g, want NaN", lists, got)
		}
		if got := ROC(lists[0], lists[1]); got != nil {
			t.Errorf("%v: got %v, want nothing", lists, got)
		}
	}
	positives := []float64{3, 1, 2}
	AUC(positives, one)
	ROC(positives, one)
	if positives[0] != 3 {
		t.Errorf("got the input sorted: %v", positives)
	}
	infinities := ROC([]float64{math.Inf(1), 0}, []float64{math.Inf(-1), 0})
	if len(infinities) != 4 || infinities[3].FalsePositiveRate != 1 {
		t.Errorf("got %v", infinities)
	}
}
