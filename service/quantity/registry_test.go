package quantity

import (
	"math"
	"slices"
	"testing"
)

// TestFactors checks every unit of the registry against a published figure:
// one of the unit, or a difference of one for temperatures, in the reference
// unit.
//
// Sources. B.8: NIST SP 811 (2008), Appendix B.8, factors listed
// alphabetically, which give seven digits except where they are exact; looked
// up in a public copy of the table. UCUM: the definition of the code
// in ucum-essence.xml. SI: a prefix or a product of SI units, exact by
// definition, from memory. A figure with seven digits is compared to half a
// unit of the seventh.
func TestFactors(t *testing.T) {
	const seven, full = 5e-7, 1e-15
	tests := []struct {
		unit, in string
		want     float64
		within   float64
		source   string
	}{
		{"1", "1", 1, full, "SI: the unit one"},
		{"%", "1", 0.01, full, "SI: per cent"},
		{"{link}", "1", 1, full, "UCUM: an annotation is the unit one"},
		{"{tooth}", "1", 1, full, "UCUM: an annotation is the unit one"},
		{"{click}", "{click}", 1, full, "this package"},

		{"ms", "s", 1e-3, full, "SI"},
		{"s", "s", 1, full, "SI"},
		{"min", "s", 60, full, "B.8: minute"},
		{"h", "s", 3600, full, "B.8: hour"},
		{"d", "s", 86400, full, "B.8: day"},

		{"Cel", "K", 1, full, "B.8: degree Celsius (temperature interval)"},
		{"[degF]", "K", 5.555556e-1, seven, "B.8: degree Fahrenheit (temperature interval)"},
		{"K", "K", 1, full, "SI"},

		{"um", "m", 1e-6, full, "B.8: micron"},
		{"mm", "m", 1e-3, full, "SI"},
		{"cm", "m", 1e-2, full, "SI"},
		{"m", "m", 1, full, "SI"},
		{"km", "m", 1e3, full, "SI"},
		{"[mil_i]", "m", 2.54e-5, full, "B.8: mil (0.001 in)"},
		{"[in_i]", "m", 2.54e-2, full, "B.8: inch"},
		{"[ft_i]", "m", 3.048e-1, full, "B.8: foot"},
		{"[mi_i]", "m", 1.609344e3, full, "B.8: mile"},

		{"mm2", "mm2", 1, full, "SI"},

		{"mL", "L", 1e-3, full, "SI"},
		{"cm3", "L", 1e-3, full, "SI"},
		{"L", "L", 1, full, "B.8: liter, 1 E-03 m3"},
		{"[foz_us]", "mL", 2.957353e1, seven, "B.8: fluid ounce (U.S.)"},
		{"[pt_us]", "L", 4.731765e-1, seven, "B.8: pint (U.S. liquid)"},
		{"[qt_us]", "L", 9.463529e-1, seven, "B.8: quart (U.S. liquid)"},
		{"[gal_us]", "L", 3.785412, seven, "B.8: gallon (U.S.)"},
		{"[gal_us]", "L", 231 * 16.387064e-3, full, "UCUM: 231 [in_i]3"},
		{"[foz_br]", "mL", 2.841306e1, seven, "B.8: ounce [Canadian and U.K. fluid (Imperial)]"},
		{"[gal_br]", "L", 4.54609, full, "B.8: gallon [Canadian and U.K. (Imperial)]"},

		{"deg", "rad", 1.745329e-2, seven, "B.8: degree (angle)"},
		{"rad", "rad", 1, full, "SI"},
		{"circ", "rad", 6.283185, seven, "B.8: revolution"},
		{"circ", "deg", 360, full, "UCUM: circ is 2 [pi].rad, deg is 2 [pi].rad/360; from memory"},

		{"g", "kg", 1e-3, full, "SI"},
		{"kg", "kg", 1, full, "SI"},
		{"[oz_av]", "kg", 2.834952e-2, seven, "B.8: ounce (avoirdupois)"},
		{"[lb_av]", "kg", 4.535924e-1, seven, "B.8: pound (avoirdupois)"},
		{"[lb_av]", "g", 7000 * 64.79891e-3, full, "UCUM: 7000 [gr], one [gr] 64.79891 mg"},

		{"N", "N", 1, full, "SI"},
		{"kN", "N", 1e3, full, "SI"},
		{"kgf", "N", 9.80665, full, "B.8: kilogram-force"},
		{"[lbf_av]", "N", 4.448222, seven, "B.8: pound-force"},

		{"cN.m", "N.m", 1e-2, full, "SI"},
		{"N.m", "N.m", 1, full, "SI"},
		{"kgf.m", "N.m", 9.80665, full, "B.8: kilogram-force meter"},
		{"[lbf_av].[ft_i]", "N.m", 1.355818, seven, "B.8: pound-force foot"},
		{"[lbf_av].[in_i]", "N.m", 1.129848e-1, seven, "B.8: pound-force inch"},

		{"Pa", "Pa", 1, full, "SI"},
		{"hPa", "Pa", 1e2, full, "B.8: millibar"},
		{"kPa", "Pa", 1e3, full, "SI"},
		{"MPa", "Pa", 1e6, full, "SI"},
		{"bar", "Pa", 1e5, full, "SI: bar, from memory"},
		{"kgf/cm2", "Pa", 9.80665e4, full, "B.8: kilogram-force per square centimeter"},
		{"[psi]", "Pa", 6.894757e3, seven, "B.8: psi"},
		{"mm[Hg]", "Pa", 1.333224e2, seven, "B.8: millimeter of mercury, conventional"},
		{"mm[Hg]", "Pa", 133.3220, 5e-6, "UCUM: m[Hg], rounded to 133.3220 kPa"},

		{"N/mm", "N/mm", 1, full, "SI"},
		{"kgf/mm", "N/mm", 9.80665, full, "B.8: kilogram-force, over a millimetre"},
		{"[lbf_av]/[in_i]", "N/mm", 1.751268e-1, seven, "B.8: pound-force per inch, 1.751268 E+02 N/m"},

		{"/min", "/min", 1, full, "this package: revolutions a minute"},

		{"m/s", "m/s", 1, full, "SI"},
		{"km/h", "m/s", 2.777778e-1, seven, "B.8: kilometer per hour"},
		{"[mi_i]/h", "m/s", 4.4704e-1, full, "B.8: mile per hour"},

		{"kg/m3", "kg/m3", 1, full, "SI"},
		{"kg/L", "kg/m3", 1e3, full, "SI"},
		{"g/cm3", "kg/m3", 1e3, full, "B.8: gram per cubic centimeter"},

		{"mm2/s", "mm2/s", 1, full, "SI"},
		{"cSt", "mm2/s", 1, full, "B.8: centistokes, 1 E-06 m2/s"},

		{"mV", "V", 1e-3, full, "SI"},
		{"V", "V", 1, full, "SI"},
		{"mA", "A", 1e-3, full, "SI"},
		{"A", "A", 1, full, "SI"},
		{"Ohm", "Ohm", 1, full, "SI"},
		{"A.h", "A.h", 1, full, "B.8: ampere hour, 3.6 E+03 C; from memory"},
		{"W", "W", 1, full, "SI"},
		{"kW", "W", 1e3, full, "SI"},
		{"W.h", "kW.h", 1e-3, full, "SI"},
		{"kW.h", "W.h", 1e3, full, "B.8: kilowatt hour, 3.6 E+06 J"},
	}
	checked := make(map[string]bool)
	for _, tt := range tests {
		checked[tt.unit] = true
		got, err := MustUnit(tt.unit).ConvertDifference(1, MustUnit(tt.in))
		if err != nil {
			t.Errorf("%s: %v", tt.unit, err)
			continue
		}
		if math.Abs(got/tt.want-1) > tt.within {
			t.Errorf("1 %s = %.17g %s, want %.7g (%s)", tt.unit, got, tt.in, tt.want, tt.source)
		}
	}
	for _, u := range Units() {
		if !checked[u.Code()] {
			t.Errorf("no published figure for %s", u.Code())
		}
	}
}

func TestRegistryIsConsistent(t *testing.T) {
	if all := Units(); !slices.Equal(all, Units()) {
		t.Error("Units changes its order")
	}
	for _, u := range Units() {
		names := append(u.Aliases(), u.Code())
		if u.Symbol() != "" {
			names = append(names, u.Symbol())
		}
		for _, name := range names {
			if got, err := ParseUnit(name); err != nil || got != u {
				t.Errorf("ParseUnit(%q) = %v, %v, want %v", name, got, err, u)
			}
		}
		if u.Dimension().String() == "" || dimensionWords[u.Dimension()] == "" {
			t.Errorf("the dimension of %v has no word", u)
		}
	}
}

func TestUnitsCanNotBeChanged(t *testing.T) {
	Units()[0] = MustUnit("mm")
	MustUnit("turn").Aliases()[0] = "nonsense"
	if Units()[0] != (Unit{}) || MustUnit("turn").Aliases()[0] != "turn" {
		t.Error("a caller changed the registry")
	}
}

func TestZeroUnit(t *testing.T) {
	var one Unit
	if got := MustUnit("1"); got != one {
		t.Errorf("MustUnit(1) = %#v, want the zero Unit", got)
	}
	if one.Code() != "1" || one.Symbol() != "" || one.String() != "1" || one.Dimension() != (Dimension{}) {
		t.Errorf("the zero Unit is %q %q %q %v", one.Code(), one.Symbol(), one.String(), one.Dimension())
	}
	if got, err := one.Convert(0.02, MustUnit("%")); err != nil || got != 2 {
		t.Errorf("0.02 = %v %%, %v", got, err)
	}
}

func TestNonNegative(t *testing.T) {
	for code, want := range map[string]bool{
		"mm": false, "mL": true, "kg": true, "N.m": true, "s": true, "K": true, "N/mm": true, "/min": true,
		"Cel": false, "[degF]": false, "kPa": false, "[psi]": false, "circ": false, "{click}": false,
		"1": false, "%": false, "V": false, "A": false, "N": false, "Ohm": true, "{tooth}": true,
	} {
		if got := MustUnit(code).NonNegative(); got != want {
			t.Errorf("NonNegative of %s = %v", code, got)
		}
	}
	for _, u := range Units() {
		for _, v := range Units() {
			if u.Dimension() == v.Dimension() && u.NonNegative() != v.NonNegative() &&
				u.Dimension() != dimTemperature && u.Dimension() != dimNone {
				t.Errorf("%v and %v disagree on negative values", u, v)
			}
		}
	}
}

func TestDimensionString(t *testing.T) {
	for code, want := range map[string]string{
		"mm": "length", "L": "volume", "N.m": "torque", "kPa": "pressure", "[lbf_av]/[in_i]": "spring rate",
		"1": "plain number", "{click}": "clicks", "circ": "angle", "/min": "rotational speed", "W.h": "energy",
	} {
		if got := MustUnit(code).Dimension().String(); got != want {
			t.Errorf("dimension of %s is %q, want %q", code, got, want)
		}
	}
	if got, want := (Dimension{length: 4, mass: 1, time: -1}).String(), "m4.kg.s-1"; got != want {
		t.Errorf("exponents print as %q, want %q", got, want)
	}
}
