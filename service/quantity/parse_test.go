package quantity

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestParse(t *testing.T) {
	tests := []struct {
		s     string
		value float64
		unit  string
	}{
		{"12 N.m", 12, "N.m"},
		{"12N·m", 12, "N.m"},
		{"12.5Nm", 12.5, "N.m"},
		{"  9 ft-lb ", 9, "[lbf_av].[ft_i]"},
		{"1 1/4 turn", 1.25, "circ"},
		{"1-1/4 turns", 1.25, "circ"},
		{"1¼ turns", 1.25, "circ"},
		{"1 ¼ turns", 1.25, "circ"},
		{"1-¼ turns", 1.25, "circ"},
		{"½ turn", 0.5, "circ"},
		{"-½ turn", -0.5, "circ"},
		{"3/8 in", 0.375, "[in_i]"},
		{`4 1/2"`, 4.5, "[in_i]"},
		{"1⁄2 in", 0.5, "[in_i]"},
		{"-3 °C", -3, "Cel"},
		{"−3 °C", -3, "Cel"},
		{"+3°C", 3, "Cel"},
		{"- 1 1/4 turns", -1.25, "circ"},
		{".5 mm", 0.5, "mm"},
		{"1e3 mm", 1000, "mm"},
		{"1500/min", 1500, "/min"},
		{"1500 /min", 1500, "/min"},
		{"1500 rpm", 1500, "/min"},
		{"12\u00a0N·m", 12, "N.m"},
		{"45°", 45, "deg"},
		{"5 %", 5, "%"},
		{"5%", 5, "%"},
		{"12 clicks", 12, "{click}"},
		{"10.2 fl oz", 10.2, "[foz_us]"},
		{"12", 12, "1"},
		{"0.02 ratio", 0.02, "1"},
		{"1:50", 0.02, "1"},
		{"1 : 50", 0.02, "1"},
		{"50:1", 50, "1"},
		{"1:50 ratio", 0.02, "1"},
		{"12.5:1", 12.5, "1"},
	}
	for _, tt := range tests {
		got, err := Parse(tt.s)
		if want := (Quantity{tt.value, MustUnit(tt.unit)}); err != nil || got != want {
			t.Errorf("Parse(%q) = %v, %v, want %v", tt.s, got, err, want)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for s, reason := range map[string]string{
		"":           "it is empty",
		"   ":        "it is empty",
		"N.m":        "there is no number",
		"-":          "there is no number",
		".":          "there is no number",
		"--3 mm":     "there is no number",
		"NaN":        "there is no number",
		"Inf mm":     "there is no number",
		"1,5 mm":     "write the decimal point as a point, and thousands without a mark",
		"12 14 mm":   "the number goes on where a unit should stand",
		"3-5 mm":     "the number goes on where a unit should stand",
		"1 5/4 turn": "the number goes on where a unit should stand",
		"1.2.3 mm":   "the number goes on where a unit should stand",
		"1e999 mm":   "the number is too large",
		"1:0":        "a ratio has a positive second part and no negative one",
		"-1:50":      "a ratio has a positive second part and no negative one",
		"1:":         "after the colon, there is no number",
		"1:50 mm":    "a ratio has no unit",
		"1:50:2":     "a ratio has no unit",
		// Infinity by infinity.
		"1e999:1e999": "the number is too large",
	} {
		q, err := Parse(s)
		var syntax *SyntaxError
		if !errors.As(err, &syntax) || q != (Quantity{}) {
			t.Errorf("Parse(%q) = %v, %v", s, q, err)
			continue
		}
		if syntax.Input != s || syntax.Reason != reason {
			t.Errorf("Parse(%q): %q of %q, want %q", s, syntax.Reason, syntax.Input, reason)
		}
	}
	for _, s := range []string{"12 furlong", "12 mpa", "3/0 mm", "12 mm mm", "½½ turn"} {
		q, err := Parse(s)
		var unknown *UnknownUnitError
		if !errors.As(err, &unknown) || q != (Quantity{}) {
			t.Errorf("Parse(%q) = %v, %v, want an unknown unit", s, q, err)
		}
	}
}

func TestParseReadsWhatStringWrites(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := Quantity{value().Draw(t, "value"), unit().Draw(t, "unit")}
		text := q.String()
		got, err := Parse(text)
		if err != nil || got.Unit != q.Unit {
			t.Fatalf("%#v prints as %q, which reads as %v, %v", q, text, got, err)
		}
		if math.Abs(got.Value-q.Value) > 5e-6*math.Abs(q.Value)+1e-9 {
			t.Fatalf("%v prints as %q, which reads as %v", q.Value, text, got.Value)
		}
		if strings.Contains(text, "−") {
			t.Fatalf("%q has a minus that is not ASCII", text)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"12 N.m", "12N·m", "1 1/4 turn", "1¼ turns", "-3 °C", "−3 °C", "1:50", "3/8 in", `4 1/2"`, "1e3 mm", "1e-400 mm",
		"1500/min", "1,5 mm", "", "-", "1:0", "½", "1/", "1 1/", "0x10 mm", "1_000 mm", "\xff", "9999999999/3 mm", "1e308:1e-308",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		q, err := Parse(s)
		if err != nil {
			var syntax *SyntaxError
			var unknown *UnknownUnitError
			if q != (Quantity{}) || !errors.As(err, &syntax) && !errors.As(err, &unknown) {
				t.Fatalf("Parse(%q) = %v, %#v", s, q, err)
			}
			return
		}
		if math.IsNaN(q.Value) || math.IsInf(q.Value, 0) {
			t.Fatalf("Parse(%q) = %v", s, q.Value)
		}
		text := q.String()
		again, err := Parse(text)
		if err != nil || again.Unit != q.Unit {
			t.Fatalf("Parse(%q) prints as %q, which reads as %v, %v", s, text, again, err)
		}
		if text2 := again.String(); text2 != text {
			t.Fatalf("Parse(%q) prints as %q, then as %q", s, text, text2)
		}
	})
}
