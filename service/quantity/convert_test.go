package quantity

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestConvertIsExactWhereTheDefinitionIs(t *testing.T) {
	tests := []struct {
		v        float64
		from, to string
		want     float64
	}{
		{1, "in", "mm", 25.4},
		{25.4, "mm", "in", 1},
		{1, "ft", "mm", 304.8},
		{1, "mi", "km", 1.609344},
		{1, "gal", "qt", 4},
		{1, "gal", "fl oz", 128},
		{1, "imp gal", "imp fl oz", 160},
		{1, "lb", "oz", 16},
		{12, "lbf·in", "lbf·ft", 1},
		{1, "turn", "deg", 360},
		{90, "deg", "turn", 0.25},
		{1, "bar", "kPa", 100},
		{98.0665, "kPa", "kgf/cm2", 1},
		{36, "km/h", "m/s", 10},
		{1, "min", "s", 60},
		// NIST SP 811, Appendix B.8: t/°C = (t/°F - 32)/1.8, T/K = t/°C + 273.15.
		{0, "°C", "°F", 32},
		{100, "°C", "°F", 212},
		{212, "°F", "°C", 100},
		{-40, "°F", "°C", -40},
		{-40, "°C", "°F", -40},
		{20, "°C", "K", 293.15},
		{0, "K", "°C", -273.15},
		{0, "K", "°F", -459.67},
	}
	for _, tt := range tests {
		got, err := MustUnit(tt.from).Convert(tt.v, MustUnit(tt.to))
		if err != nil || got != tt.want {
			t.Errorf("%v %s = %v %s, %v, want %v", tt.v, tt.from, got, tt.to, err, tt.want)
		}
	}
}

func TestConvertDifferenceHasNoOffset(t *testing.T) {
	if got, err := MustUnit("°C").ConvertDifference(5, MustUnit("°F")); err != nil || got != 9 {
		t.Errorf("a span of 5 °C = %v °F, %v, want 9", got, err)
	}
	if got, err := MustUnit("°F").ConvertDifference(9, MustUnit("K")); err != nil || got != 5 {
		t.Errorf("a span of 9 °F = %v K, %v, want 5", got, err)
	}
}

func TestDimensionsDoNotMix(t *testing.T) {
	for _, pair := range [][2]string{
		{"{click}", "circ"}, // how many clicks a turn has, only the adjuster knows
		{"{click}", "1"},
		{"circ", "1"},
		{"N.m", "W.h"}, // torque is not energy
		{"lb", "lbf"},
		{"kg", "kgf"},
		{"/min", "1"},
		{"N/mm", "N"},
		{"mL", "g"},
	} {
		from, to := MustUnit(pair[0]), MustUnit(pair[1])
		for _, convert := range []func(float64, Unit) (float64, error){from.Convert, from.ConvertDifference} {
			got, err := convert(1, to)
			var mixed *DimensionError
			if !errors.As(err, &mixed) || mixed.From != from || mixed.To != to || got != 0 {
				t.Errorf("1 %v to %v = %v, %v", from, to, got, err)
			}
		}
		if q, err := (Quantity{1, from}).To(to); err == nil || q != (Quantity{}) {
			t.Errorf("Quantity of %v to %v = %v, %v", from, to, q, err)
		}
	}
	_, err := MustUnit("N.m").Convert(1, MustUnit("kPa"))
	if got, want := err.Error(), "N·m measures torque and can not be converted to kPa, which measures pressure"; got != want {
		t.Errorf("error is %q, want %q", got, want)
	}
}

func unit() *rapid.Generator[Unit] { return rapid.SampledFrom(Units()) }

// twoOfOneKind draws a unit and one that it converts into.
func twoOfOneKind(t *rapid.T) (a, b Unit) {
	a = unit().Draw(t, "a")
	var kin []Unit
	for _, u := range Units() {
		if u.Dimension() == a.Dimension() {
			kin = append(kin, u)
		}
	}
	return a, rapid.SampledFrom(kin).Draw(t, "b")
}

func value() *rapid.Generator[float64] { return rapid.Float64Range(-1e6, 1e6) }

// near allows for the rounding of a few operations on values of that scale,
// and for the digits that are lost next to the smallest float64.
func near(a, b, scale float64) bool {
	return math.Abs(a-b) <= 8*0x1p-52*max(math.Abs(a), math.Abs(b), math.Abs(scale), 1e-290)
}

func convert(t *rapid.T, from Unit, v float64, to Unit) float64 {
	got, err := from.Convert(v, to)
	if err != nil {
		t.Fatalf("%v %v to %v: %v", v, from, to, err)
	}
	return got
}

func convertDifference(t *rapid.T, from Unit, v float64, to Unit) float64 {
	got, err := from.ConvertDifference(v, to)
	if err != nil {
		t.Fatalf("a difference of %v %v to %v: %v", v, from, to, err)
	}
	return got
}

// offsetScale is the largest offset between temperature scales, expressed in
// u: what cancels in a temperature near nought leaves its rounding behind.
func offsetScale(u Unit) float64 {
	if u.Dimension() == dimTemperature {
		return 500
	}
	return 0
}

func TestConvertThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := twoOfOneKind(t)
		v := value().Draw(t, "v")
		if back := convert(t, b, convert(t, a, v, b), a); !near(back, v, offsetScale(a)) {
			t.Fatalf("%v %v goes to %v and back as %v", v, a, b, back)
		}
		if back := convertDifference(t, b, convertDifference(t, a, v, b), a); !near(back, v, 0) {
			t.Fatalf("a difference of %v %v goes to %v and back as %v", v, a, b, back)
		}
	})
}

func TestConvertIsSymmetric(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := twoOfOneKind(t)
		v := value().Draw(t, "v")
		if got := convert(t, a, v, a); got != v {
			t.Fatalf("%v of %v is %v of itself", v, a, got)
		}
		there, back := convertDifference(t, a, 1, b), convertDifference(t, b, 1, a)
		if !near(there*back, 1, 0) {
			t.Fatalf("%v to %v is %v, the other way %v", a, b, there, back)
		}
		other := unit().Draw(t, "other")
		_, err1 := a.Convert(v, other)
		_, err2 := other.Convert(v, a)
		if (err1 == nil) != (err2 == nil) || (err1 == nil) != (a.Dimension() == other.Dimension()) {
			t.Fatalf("%v to %v: %v, the other way: %v", a, other, err1, err2)
		}
	})
}

func TestConvertGoesThroughAThirdUnit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := twoOfOneKind(t)
		c := rapid.SampledFrom(Units()).Filter(func(u Unit) bool { return u.Dimension() == a.Dimension() }).Draw(t, "c")
		v := value().Draw(t, "v")
		direct, around := convert(t, a, v, b), convert(t, c, convert(t, a, v, c), b)
		if !near(direct, around, 2*offsetScale(b)) {
			t.Fatalf("%v %v is %v %v, by way of %v %v", v, a, direct, b, c, around)
		}
	})
}

func TestConvertDifferenceIsLinear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := twoOfOneKind(t)
		v, d := value().Draw(t, "v"), value().Draw(t, "d")
		moved := convert(t, a, v+d, b)
		added := convert(t, a, v, b) + convertDifference(t, a, d, b)
		scale := convertDifference(t, a, math.Abs(v)+math.Abs(d), b) + offsetScale(b)
		if !near(moved, added, scale) {
			t.Fatalf("%v + %v of %v: moved %v, added %v %v", v, d, a, moved, added, b)
		}
		if got := convertDifference(t, a, -d, b); got != -convertDifference(t, a, d, b) {
			t.Fatalf("a difference of %v %v is not the opposite of %v", -d, a, d)
		}
		if got := convertDifference(t, a, 0, b); got != 0 {
			t.Fatalf("no difference of %v is one of %v %v", a, got, b)
		}
	})
}

func BenchmarkConvert(b *testing.B) {
	newtonMetre, poundFoot := MustUnit("N.m"), MustUnit("[lbf_av].[ft_i]")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := newtonMetre.Convert(12, poundFoot); err != nil {
			b.Fatal(err)
		}
	}
}

func TestConvertDoesNotAllocate(t *testing.T) {
	from, to := MustUnit("Cel"), MustUnit("[degF]")
	if n := testing.AllocsPerRun(100, func() { _, _ = from.Convert(20, to) }); n != 0 {
		t.Errorf("Convert allocates %v times", n)
	}
}
