package quantity

import (
	"errors"
	"strings"
	"testing"
)

func TestParseUnit(t *testing.T) {
	for name, want := range map[string]string{
		"N.m": "N.m", "Nm": "N.m", "N·m": "N.m", "NM": "N.m", "nm": "N.m", "n-m": "N.m",
		"ft-lb": "[lbf_av].[ft_i]", "ft·lb": "[lbf_av].[ft_i]", "lbf-ft": "[lbf_av].[ft_i]", "lb ft": "[lbf_av].[ft_i]",
		"FT-LBS": "[lbf_av].[ft_i]", "ft lbf": "[lbf_av].[ft_i]", "foot-pounds": "[lbf_av].[ft_i]", "lbf·ft": "[lbf_av].[ft_i]",
		"in-lb": "[lbf_av].[in_i]", "in-lbs": "[lbf_av].[in_i]", "lbf·in": "[lbf_av].[in_i]", "inch-pounds": "[lbf_av].[in_i]",
		"psi": "[psi]", "PSI": "[psi]", "Psi": "[psi]",
		"rpm": "/min", "RPM": "/min", "1/min": "/min",
		"C": "Cel", "°C": "Cel", "deg C": "Cel", "F": "[degF]", "°F": "[degF]", "°f": "[degF]",
		"fl oz": "[foz_us]", "fl  oz": "[foz_us]", "FL OZ": "[foz_us]", "oz": "[oz_av]",
		"cc": "cm3", "ml": "mL", "ML": "mL", "l": "L", "L": "L", "ltr": "L",
		"in": "[in_i]", `"`: "[in_i]", "'": "[ft_i]", "IN": "[in_i]", "[IN_I]": "[in_i]",
		"turn": "circ", "turns": "circ", "click": "{click}", "clicks": "{click}", "Clicks": "{click}",
		"kph": "km/h", "KM/H": "km/h", "mph": "[mi_i]/h", "MPH": "[mi_i]/h",
		"ratio": "1", "1": "1", "%": "%",
		"MPa": "MPa", "MPA": "MPa", "kpa": "kPa", "KPA": "kPa", "Bar": "bar", "kg/cm²": "kgf/cm2",
		"mm": "mm", "MM": "mm", "mA": "mA", "mV": "mV", "KW": "kW", "Ω": "Ohm", "\u2126": "Ohm", "ohm": "Ohm",
		"µm": "um", "\u03bcm": "um", " mm ": "mm", "\tkg\n": "kg", "lb": "[lb_av]", "lb/in": "[lbf_av]/[in_i]",
		"m": "m", "M/S": "", "S": "", "H": "", // one letter, or a leading M, must be right
		"mPa": "", "mpa": "", "MA": "", "MV": "", "Mm/s": "", "": "", " ": "",
		"nonsense": "", "N.m.s": "", "kN.m": "", "ft.lb.s": "", "m2": "",
	} {
		u, err := ParseUnit(name)
		if want == "" {
			var unknown *UnknownUnitError
			if !errors.As(err, &unknown) || unknown.Code != name || u != (Unit{}) {
				t.Errorf("ParseUnit(%q) = %v, %v, want an unknown unit", name, u, err)
			}
			continue
		}
		if err != nil || u.Code() != want {
			t.Errorf("ParseUnit(%q) = %v, %v, want %s", name, u.Code(), err, want)
		}
	}
}

func TestSuggestion(t *testing.T) {
	for name, want := range map[string]string{
		"mpa":                        "MPa",
		"mPa":                        "MPa",
		"MV":                         "mV",
		"N.mm":                       "N.m",
		"ft-lbss":                    "ft-lbs",
		"trun":                       "turn",
		"clcik":                      "click",
		"turnss":                     "turns",
		"celcius":                    "celsius",
		"galon":                      "gallon",
		"x":                          "",
		"zzzz":                       "",
		"":                           "",
		strings.Repeat("turns", 100): "",
	} {
		_, err := ParseUnit(name)
		var unknown *UnknownUnitError
		if !errors.As(err, &unknown) {
			t.Errorf("ParseUnit(%q): %v", name, err)
			continue
		}
		if unknown.Suggestion != want {
			t.Errorf("for %q the suggestion is %q, want %q", name, unknown.Suggestion, want)
		}
	}
	_, err := ParseUnit("galon")
	if got, want := err.Error(), `unknown unit "galon", did you mean "gallon"?`; got != want {
		t.Errorf("error is %q, want %q", got, want)
	}
	_, err = ParseUnit("zzzz")
	if got, want := err.Error(), `unknown unit "zzzz"`; got != want {
		t.Errorf("error is %q, want %q", got, want)
	}
}

func TestMustUnitPanics(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("MustUnit of an unknown unit does not panic")
		}
	}()
	MustUnit("furlong")
}

func TestParseUnitDoesNotAllocate(t *testing.T) {
	for _, u := range Units() {
		for _, name := range append(u.Aliases(), u.Code()) {
			if n := testing.AllocsPerRun(10, func() { _, _ = ParseUnit(name) }); n != 0 {
				t.Errorf("ParseUnit(%q) allocates %v times", name, n)
			}
		}
	}
}

func FuzzParseUnit(f *testing.F) {
	for _, u := range Units() {
		f.Add(u.Code())
		f.Add(u.Symbol())
	}
	for _, name := range []string{"ft-lb", "mpa", "MM", "  fl  oz ", "\xff", "İn", "ſ", strings.Repeat("m", 50)} {
		f.Add(name)
	}
	f.Fuzz(func(t *testing.T, name string) {
		u, err := ParseUnit(name)
		if err == nil {
			if again, err := ParseUnit(u.Code()); err != nil || again != u {
				t.Fatalf("%q is %v, but its code %q is %v, %v", name, u, u.Code(), again, err)
			}
			return
		}
		var unknown *UnknownUnitError
		if !errors.As(err, &unknown) || unknown.Code != name || u != (Unit{}) || err.Error() == "" {
			t.Fatalf("ParseUnit(%q) = %v, %#v", name, u, err)
		}
		if unknown.Suggestion != "" {
			if _, err := ParseUnit(unknown.Suggestion); err != nil {
				t.Fatalf("the suggestion for %q is no unit: %v", name, err)
			}
		}
	})
}

func BenchmarkParseUnit(b *testing.B) {
	for _, bench := range []struct{ name, unit string }{
		{"code", "[lbf_av].[ft_i]"}, {"alias", "ft-lb"}, {"folded", "FT-LB"}, {"unknown", "ft-lbss"},
	} {
		b.Run(bench.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, _ = ParseUnit(bench.unit)
			}
		})
	}
}
