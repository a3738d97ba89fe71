package statistic

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// near fails unless got is within a relative 1e-12 of want.
func near(t testing.TB, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-12*math.Abs(want)) && got != want {
		t.Errorf("%s: got %.17g, want %.17g", what, got, want)
	}
}

// wantInputError fails unless err is an *InputError that names the parameter.
func wantInputError(t testing.TB, err error, param string) {
	t.Helper()
	var in *InputError
	if !errors.As(err, &in) {
		t.Errorf("got error %v, want an *InputError for %s", err, param)
		return
	}
	if in.Param != param {
		t.Errorf("got error %v, want one for %s", err, param)
	}
}

// splits returns the lengths of pieces that make up n, empty ones among them.
func splits(rng *rand.Rand, n int) []int {
	var lengths []int
	for n > 0 {
		k := rng.IntN(n + 1)
		lengths = append(lengths, k)
		n -= k
	}
	return append(lengths, 0)
}

// streams are values that are hard in different ways.
func streams(rng *rand.Rand) map[string][]float64 {
	sets := make(map[string][]float64)
	fill := func(name string, n int, f func(i int) float64) {
		for i := range n {
			sets[name] = append(sets[name], f(i))
		}
	}
	fill("normal", 5000, func(int) float64 { return rng.NormFloat64() })
	fill("far from 0", 5000, func(int) float64 { return 1e9 + rng.NormFloat64() })
	fill("very far from 0", 1000, func(int) float64 { return 1e15 + float64(rng.IntN(100)) })
	fill("wide", 2000, func(int) float64 { return math.Exp(20 * rng.NormFloat64()) })
	fill("drifting", 5000, func(i int) float64 { return 1e6*float64(i) + rng.NormFloat64() })
	fill("outlier first", 1000, func(i int) float64 {
		if i == 0 {
			return 1e12
		}
		return rng.Float64()
	})
	return sets
}

func TestMomentsMergeAndOrder(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for name, values := range streams(rng) {
		var whole Moments
		for _, v := range values {
			whole.Add(v)
		}
		exactMean, exactSD := exactMoments(values)
		scale := math.Max(math.Abs(exactMean), exactSD)
		agree := func(what string, m Moments) {
			t.Helper()
			if m.N != whole.N {
				t.Errorf("%s, %s: got %d values, want %d", name, what, m.N, whole.N)
			}
			near(t, name+", "+what+", standard deviation", m.StdDev(), exactSD)
			near(t, name+", "+what+", variance", m.Variance(), whole.Variance())
			// A mean near 0 is known relative to the spread.
			near(t, name+", "+what+", mean", scale+m.Mean, scale+exactMean)
		}
		agree("sequential", whole)
		for range 20 {
			var merged, backwards Moments
			rest := values
			var pieces []Moments
			for _, n := range splits(rng, len(values)) {
				var piece Moments
				for _, v := range rest[:n] {
					piece.Add(v)
				}
				rest = rest[n:]
				merged.Merge(piece)
				pieces = append(pieces, piece)
			}
			for _, piece := range slices.Backward(pieces) {
				backwards.Merge(piece)
			}
			agree("merged", merged)
			agree("merged backwards", backwards)

			shuffled := slices.Clone(values)
			rng.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
			var again Moments
			for _, v := range shuffled {
				again.Add(v)
			}
			agree("shuffled", again)
		}
	}
}

func TestMomentsEdges(t *testing.T) {
	var m Moments
	if m.N != 0 || m.Mean != 0 || !math.IsNaN(m.Variance()) || !math.IsNaN(m.StdDev()) {
		t.Errorf("zero value: got %+v with variance %g", m, m.Variance())
	}
	m.Merge(Moments{})
	if m != (Moments{}) {
		t.Errorf("two empty streams: got %+v", m)
	}
	m.Add(3)
	if m != (Moments{N: 1, Mean: 3}) || !math.IsNaN(m.Variance()) {
		t.Errorf("one value: got %+v with variance %g", m, m.Variance())
	}
	alone := m
	m.Merge(Moments{})
	var empty Moments
	empty.Merge(alone)
	if m != alone || empty != alone {
		t.Errorf("merging with nothing: got %+v and %+v, want %+v", m, empty, alone)
	}
	var same Moments
	for range 1000 {
		same.Add(0.1)
	}
	if same.Mean != 0.1 || same.M2 != 0 {
		t.Errorf("equal values: got %+v", same)
	}
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		m := alone
		m.Add(bad)
		m.Add(1)
		if !math.IsNaN(m.StdDev()) {
			t.Errorf("after %g: got a standard deviation of %g, want NaN", bad, m.StdDev())
		}
	}
}

// TestMomentsRestored: the exported fields are the whole state.
func TestMomentsRestored(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	var m, n Moments
	for range 100 {
		v := 1e7 + rng.Float64()
		m.Add(v)
		n = Moments{N: n.N, Mean: n.Mean, MeanLow: n.MeanLow, M2: n.M2}
		n.Add(v)
	}
	if m != n {
		t.Errorf("got %+v, want %+v", n, m)
	}
}

func TestMomentsAddDoesNotAllocate(t *testing.T) {
	var m Moments
	if n := testing.AllocsPerRun(100, func() { m.Add(1.5) }); n != 0 {
		t.Errorf("got %g allocations, want 0", n)
	}
}

func BenchmarkMomentsAdd(b *testing.B) {
	b.ReportAllocs()
	var m Moments
	for i := range b.N {
		m.Add(float64(i & 1023))
	}
}

func BenchmarkMomentsMerge(b *testing.B) {
	b.ReportAllocs()
	var m Moments
	other := Moments{N: 10, Mean: 3, M2: 5}
	for range b.N {
		m.Merge(other)
	}
}
