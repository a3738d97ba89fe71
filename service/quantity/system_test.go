package quantity

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestIn(t *testing.T) {
	tests := []struct {
		v                float64
		unit, metric, us string
	}{
		{0.05, "mm", "mm", "[in_i]"},
		{105, "mm", "mm", "[in_i]"},
		{1485, "mm", "mm", "[in_i]"},
		{25, "m", "m", "[ft_i]"},
		{50, "um", "um", "[mil_i]"},
		{2, "[mil_i]", "um", "[mil_i]"},
		{5000, "um", "mm", "[in_i]"},
		{500, "km", "km", "[mi_i]"},
		{0, "km", "km", "[mi_i]"},
		{0.4, "[mi_i]", "km", "[mi_i]"},
		{0.35, "L", "mL", "[foz_us]"},
		{350, "mL", "mL", "[foz_us]"},
		{1200, "mL", "L", "[qt_us]"},
		{8, "L", "L", "[gal_us]"},
		{32, "[foz_us]", "mL", "[qt_us]"},
		{450, "cm3", "cm3", "[foz_us]"},
		{0, "L", "L", "[qt_us]"},
		{0.4, "kg", "g", "[oz_av]"},
		{104, "kg", "kg", "[lb_av]"},
		{70, "N", "N", "[lbf_av]"},
		{18, "kN", "kN", "[lbf_av]"},
		{7, "kgf", "N", "[lbf_av]"},
		{10, "N.m", "N.m", "[lbf_av].[in_i]"},
		{60, "N.m", "N.m", "[lbf_av].[ft_i]"},
		{6, "kgf.m", "N.m", "[lbf_av].[ft_i]"},
		{40, "cN.m", "cN.m", "[lbf_av].[in_i]"},
		{500, "cN.m", "N.m", "[lbf_av].[in_i]"},
		{95, "kPa", "kPa", "[psi]"},
		{1, "bar", "bar", "[psi]"},
		{14, "[psi]", "kPa", "[psi]"},
		{1, "kgf/cm2", "kPa", "[psi]"},
		{4.4, "N/mm", "N/mm", "[lbf_av]/[in_i]"},
		{45, "kgf/mm", "N/mm", "[lbf_av]/[in_i]"},
		{20, "Cel", "Cel", "[degF]"},
		{293, "K", "Cel", "[degF]"},
		{100, "km/h", "km/h", "[mi_i]/h"},
		{10, "m/s", "m/s", "[mi_i]/h"},
		{60, "[mi_i]/h", "km/h", "[mi_i]/h"},
		{12.6, "V", "V", "V"},
		{1500, "/min", "/min", "/min"},
		{1.5, "circ", "circ", "circ"},
		{12, "{click}", "{click}", "{click}"},
		{20, "%", "%", "%"},
		{0.02, "1", "1", "1"},
		{10, "h", "h", "h"},
	}
	for _, tt := range tests {
		u := MustUnit(tt.unit)
		if got := u.In(Metric, tt.v).Code(); got != tt.metric {
			t.Errorf("%v %s in metric reads in %s, want %s", tt.v, tt.unit, got, tt.metric)
		}
		if got := u.In(USCustomary, tt.v).Code(); got != tt.us {
			t.Errorf("%v %s in US customary reads in %s, want %s", tt.v, tt.unit, got, tt.us)
		}
		if got := u.In(USCustomary, -tt.v).Code(); got != tt.us {
			t.Errorf("%v %s in US customary reads in %s, want %s", -tt.v, tt.unit, got, tt.us)
		}
		if got := u.In(System(7), tt.v); got != u {
			t.Errorf("%v %s in an unknown system reads in %v", tt.v, tt.unit, got)
		}
	}
}

func TestInAlwaysConverts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := unit().Draw(t, "unit")
		v := rapid.OneOf(value(), rapid.Just(math.NaN()), rapid.Just(math.Inf(1))).Draw(t, "value")
		s := rapid.SampledFrom([]System{Metric, USCustomary}).Draw(t, "system")
		read := u.In(s, v)
		converted, err := u.Convert(v, read)
		if err != nil {
			t.Fatalf("%v %v in %v: %v", v, u, s, err)
		}
		// A reader's unit is not read in another one, except where rounding
		// carries a value over a limit and except for zero.
		if again := read.In(s, converted); again != read && read.In(s, converted*(1+1e-12)) != read && v != 0 {
			t.Fatalf("%v %v reads as %v %v in %v, and that in %v", v, u, converted, read, s, again)
		}
	})
}

func TestSystemString(t *testing.T) {
	for s, want := range map[System]string{Metric: "metric", USCustomary: "US customary", 7: "System(7)"} {
		if got := s.String(); got != want {
			t.Errorf("System(%d) prints as %q, want %q", int(s), got, want)
		}
	}
}
