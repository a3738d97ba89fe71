package population

import (
	"math"
	"regexp"
	"testing"
)

// The numbers are these on every machine: what they are worked out with rounds
// alike everywhere.
func TestDiceAreTheSameEverywhere(t *testing.T) {
	d := seeded(1, 2)
	h := uint64(0)
	for range 1000 {
		h = mix(h ^ math.Float64bits(d.normal()) ^ math.Float64bits(power(d.between(-2, 2))) ^ uint64(d.below(1000)))
	}
	if want := uint64(0x98b039e058bd4a7b); h != want {
		t.Errorf("got %#x, want %#x", h, want)
	}
}

func TestNormal(t *testing.T) {
	d := seeded(3, 4)
	const n = 200000
	var sum, squares float64
	beyond := 0
	for range n {
		x := d.normal()
		sum += x
		squares += x * x
		if math.Abs(x) > 1.959964 {
			beyond++
		}
	}
	if mean, sd := sum/n, math.Sqrt(squares/n); math.Abs(mean) > 0.01 || math.Abs(sd-1) > 0.01 {
		t.Errorf("mean %g, standard deviation %g", mean, sd)
	}
	if share := float64(beyond) / n; math.Abs(share-0.05) > 0.003 {
		t.Errorf("%g lie beyond 1.96, want about 0.05", share)
	}
}

func TestPower(t *testing.T) {
	for _, x := range []float64{-2, -0.5, 0, 0.3, 2} {
		if got, want := power(x), math.Exp(x); math.Abs(got/want-1) > 0.003 {
			t.Errorf("power(%g) = %g, want about %g", x, got, want)
		}
	}
}

// Multiples of a step are the decimals that people write.
func TestDecimal(t *testing.T) {
	for _, test := range []struct {
		step    decimal
		x, want float64
	}{
		{decimal{2, 100}, 3.1299, 3.12}, {decimal{5, 1}, 752.6, 755}, {decimal{25, 100}, -0.37, -0.25},
		{decimal{1, 10}, 0.3, 0.3}, {decimal{10, 1}, 1355, 1360},
	} {
		got := test.step.at(test.x)
		if got != test.want || !test.step.onScale(got) {
			t.Errorf("%v at %g: %g, want %g", test.step, test.x, got, test.want)
		}
	}
	for width, want := range map[float64]float64{0.4: 0.02, 40: 2, 6: 0.5, 1e7: 500000} {
		if got := fineStep(width).value(); got != want {
			t.Errorf("step for a width of %g: %g, want %g", width, got, want)
		}
	}
}

func TestTextFitsItsPattern(t *testing.T) {
	for _, pattern := range []string{`KB44-[0-9]{2}W[0-5][0-9]-[0-9]{5}`, `GX3[0-9]{6}`, `K[0-9]{4}[AB]`, `(?:X|Y)[^0-9]{2}z?q+`} {
		made, err := textOf(pattern)
		if err != nil {
			t.Fatal(err)
		}
		whole := regexp.MustCompile(`^(?:` + pattern + `)$`)
		seen := make(map[string]bool)
		for n := range uint64(20) {
			text := made.write(n)
			if !whole.MatchString(text) || text != made.write(n) {
				t.Errorf("%s: %q", pattern, text)
			}
			seen[text] = true
		}
		if len(seen) < 5 {
			t.Errorf("%s: only %d texts", pattern, len(seen))
		}
	}
}

// Units that differ have VINs that differ.
func TestNumbering(t *testing.T) {
	all, err := families()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range all {
		seen := make(map[string]int)
		for _, unit := range []int{0, 1, 2, 57, 1000, f.number.count - 1, f.number.count, f.number.count + 1, 3 * f.number.count, 19*f.number.count + 5} {
			v := f.number.vin(unit)
			if before, there := seen[v]; there {
				t.Errorf("%s: units %d and %d are both %s", f.id, before, unit, v)
			}
			seen[v] = unit
		}
	}
}

func TestToDigit(t *testing.T) {
	for _, test := range []struct {
		n, places int
		digits    []int
		want      float64
	}{{13, 1, []int{0, 5}, 2}, {-13, 1, []int{0, 5}, -2}, {20, 1, []int{0}, 0}, {7, 2, []int{8}, 2}, {7, 2, []int{5}, 0}} {
		if got := toDigit(test.n, test.places, test.digits); got != test.want {
			t.Errorf("%d by %d to %v: %g, want %g", test.n, test.places, test.digits, got, test.want)
		}
	}
}
