package audit

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/snapgauge/snapgauge/service/statistic"
)

// driftOf tests made up readings: of each shop, those at the days given.
func driftOf(shops map[string][][2]float64, order ...string) map[string][2]float64 {
	a := newAuditor()
	c := &characteristic{ID: "gap", Shops: map[int32]*shopCell{}}
	a.Chars = []*characteristic{c}
	for _, name := range order {
		var line statistic.Line
		for _, point := range shops[name] {
			line.Add(point[0], point[1])
		}
		c.Shops[a.Shops.place(name, mostShops)] = &shopCell{Line: line}
	}
	got := map[string][2]float64{}
	for _, t := range trials {
		if t.measure == "change over the period as a share of the limits" {
			results, _ := t.run(a, t)
			for _, o := range results {
				got[o.GetShop()] = [2]float64{o.GetPValue(), o.GetEffect().GetValue()}
			}
		}
	}
	return got
}

// Shops that differ in level and come and go are no drift of anybody.
func TestDriftOfLevels(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	shops := map[string][][2]float64{}
	for i, name := range []string{"steady", "early", "late"} {
		for n := range 200 {
			day := 20_000 + float64(n)
			switch i {
			case 1:
				day = 20_000 + float64(n)/4
			case 2:
				day = 20_150 + float64(n)/4
			}
			shops[name] = append(shops[name], [2]float64{day, 0.2 + 0.3*float64(i) + 0.05*rng.NormFloat64()})
		}
	}
	for name, got := range driftOf(shops, "steady", "early", "late") {
		if got[0] < 0.01 || math.Abs(got[1]) > 0.05 {
			t.Errorf("%s: got p %g and an effect of %v", name, got[0], got[1])
		}
	}
}

// One that drifts is found, by as much as it moved, and in every order of the shops.
func TestDriftIsFound(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 3))
	shops := map[string][][2]float64{}
	for i, name := range []string{"a", "b", "drifting", "c"} {
		for n := range 100 {
			y := 0.1*float64(i) + 0.1*rng.NormFloat64()
			if name == "drifting" {
				y += 0.4 * float64(n) / 100
			}
			shops[name] = append(shops[name], [2]float64{20_000 + float64(n), y})
		}
	}
	first := driftOf(shops, "a", "b", "drifting", "c")
	if got := first["drifting"]; got[0] > 1e-9 || math.Abs(got[1]-0.4) > 0.1 {
		t.Errorf("got %v", got)
	}
	for name, got := range driftOf(shops, "c", "drifting", "b", "a") {
		if math.Abs(got[0]/first[name][0]-1) > 1e-9 || math.Abs(got[1]-first[name][1]) > 1e-12 {
			t.Errorf("%s in another order: got %v, want %v", name, got, first[name])
		}
	}
}

// Student's t and its quantile agree, where degrees of freedom are few.
func TestStudent(t *testing.T) {
	for _, df := range []float64{28, 60, 1000} {
		if p := tTwoSided(tQuantile(df), 1, df); math.Abs(p-0.05) > 2e-4 {
			t.Errorf("%v degrees of freedom: got %v", df, p)
		}
	}
	if p := tTwoSided(0, 0, 30); p != 1 {
		t.Errorf("no difference: got %v", p)
	}
}
