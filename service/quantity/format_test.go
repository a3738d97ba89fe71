package quantity

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestFormat(t *testing.T) {
	tests := []struct {
		v      float64
		unit   string
		digits int
		want   string
	}{
		{8.850745791, "lbf·ft", 3, "8.85 lbf·ft"},
		{12, "N.m", 3, "12 N·m"},
		{12.04, "N.m", 3, "12 N·m"},
		{0.0499, "mm", 2, "0.05 mm"},
		{-3, "°C", 2, "-3 °C"},
		{math.Copysign(0, -1), "°C", 2, "0 °C"},
		{1234567, "km", 3, "1230000 km"},
		{0.00001234, "mm", 2, "0.000012 mm"},
		{999.6, "mL", 3, "1000 mL"},
		{45, "deg", 3, "45°"},
		{5, "%", 1, "5 %"},
		{0.02, "1", 3, "0.02"},
		{1, "{click}", 3, "1 click"},
		{-1, "{click}", 3, "-1 click"},
		{2, "{click}", 3, "2 clicks"},
		{15, "{tooth}", 3, "15 teeth"},
		{1, "circ", 3, "1 turn"},
		{1.3, "circ", 3, "1.3 turns"},
		{1. / 3, "mm", 0, "0.3 mm"},
		{1. / 3, "mm", -5, "0.3 mm"},
		{0.1, "mm", 99, "0.1 mm"},
		{123456789012, "Pa", 12, "123456789012 Pa"},
		{1e15, "Pa", 3, "1e+15 Pa"},
		{2e-10, "m", 3, "2e-10 m"},
		{math.MaxFloat64, "Pa", 1, "2e+308 Pa"},
		{math.NaN(), "Pa", 3, "NaN Pa"},
		{math.Inf(-1), "Pa", 3, "-Inf Pa"},
	}
	for _, tt := range tests {
		if got := Format(tt.v, MustUnit(tt.unit), tt.digits); got != tt.want {
			t.Errorf("Format(%v, %s, %d) = %q, want %q", tt.v, tt.unit, tt.digits, got, tt.want)
		}
	}
}

func TestQuantityString(t *testing.T) {
	for want, q := range map[string]Quantity{
		"12.5 N·m":        {12.5, MustUnit("N.m")},
		"0.3 mm":          {0.1 + 0.2, MustUnit("mm")},
		"8.85075 lbf·ft":  {8.850745791327183, MustUnit("lbf·ft")},
		"12345678 km":     {12345678.4, MustUnit("km")},
		"0":               {},
		"1¼ turns":        {1.25, MustUnit("circ")},
		"-½ turn":         {-0.5, MustUnit("circ")},
		"1.3 turns":       {1.3, MustUnit("circ")},
		"90°":             {90, MustUnit("deg")},
		"-273.15 °C":      {-273.15, MustUnit("Cel")},
		"1e+15 Pa":        {1e15, MustUnit("Pa")},
		"4.5 in":          {4.5, MustUnit(`"`)},
		"100000000 turns": {1e8, MustUnit("circ")},
	} {
		if got := q.String(); got != want {
			t.Errorf("%v %s prints as %q, want %q", q.Value, q.Unit.Code(), got, want)
		}
	}
}

func TestFormatTurns(t *testing.T) {
	for _, tt := range []struct {
		turns float64
		want  string
	}{
		{0, "0 turns"}, {0.125, "⅛ turn"}, {0.25, "¼ turn"}, {0.375, "⅜ turn"}, {0.5, "½ turn"}, {0.625, "⅝ turn"},
		{0.75, "¾ turn"}, {0.875, "⅞ turn"}, {1, "1 turn"}, {1.25, "1¼ turns"}, {1.5, "1½ turns"}, {3, "3 turns"},
		{-0.75, "-¾ turn"}, {-1, "-1 turn"}, {-2.5, "-2½ turns"},
		{1.3, "1¼ turns"}, {1.32, "1⅜ turns"}, {0.06, "0 turns"}, {-0.06, "0 turns"}, {0.0625, "⅛ turn"}, {-0.0625, "-⅛ turn"},
		{1.97, "2 turns"}, {0.97, "1 turn"},
		{1e14, "100000000000000 turns"}, {1e16, "1e+16 turns"}, {math.Inf(1), "+Inf turns"}, {math.NaN(), "NaN turns"},
	} {
		if got := FormatTurns(tt.turns); got != tt.want {
			t.Errorf("FormatTurns(%v) = %q, want %q", tt.turns, got, tt.want)
		}
	}
}

func TestFormatTurnsIsTheNearestEighth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		turns := rapid.Float64Range(-1000, 1000).Draw(t, "turns")
		text := FormatTurns(turns)
		q, err := Parse(text)
		if err != nil || q.Unit != MustUnit("circ") {
			t.Fatalf("%q reads as %v, %v", text, q, err)
		}
		if math.Abs(q.Value-turns) > 1./16 || q.Value*8 != math.Trunc(q.Value*8) {
			t.Fatalf("%v prints as %q", turns, text)
		}
	})
}
