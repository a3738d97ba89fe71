package main

import (
	"math"
	"testing"
)

func TestMeasure(t *testing.T) {
	for _, test := range []struct {
		unit, text string
		want       float64
	}{
		{"Cel", "7", 7},
		{"Cel", "-5", -5},
		{"Cel", "45 F", 65. / 9},
		{"Cel", "280.15 K", 7},
		{"m", "900", 900},
		{"m", "3000 ft", 914.4},
		{"%", "60", 60},
		{"%", "60 %", 60},
	} {
		m := newMeasure(test.unit, "", "")
		if err := m.Set(test.text); err != nil || math.Abs(m.value-test.want) > 1e-9 || m.String() != test.text {
			t.Errorf("%s in %s: got %v and %v, want %v", test.text, test.unit, m.value, err, test.want)
		}
	}
	for _, test := range []struct{ unit, text string }{
		{"Cel", ""}, {"Cel", "warm"}, {"Cel", "45 F F"}, {"Cel", "5 kPa"}, {"Cel", "NaN"}, {"Cel", "inf"}, {"m", "7,5"}, {"%", "5 m"},
	} {
		m := newMeasure(test.unit, "", "")
		if err := m.Set(test.text); err == nil || m.String() != "" {
			t.Errorf("%q in %s: got %v, want an error", test.text, test.unit, m.value)
		}
	}
}

func TestRider(t *testing.T) {
	const pound = 0.45359237
	for _, test := range []struct {
		text       string
		mass, gear float64
	}{
		{"82", 82, 0},
		{"82+11", 82, 11},
		{" 82 kg + 11 kg ", 82, 11},
		{"180 lb+20 lb", 180 * pound, 20 * pound},
		{"180 lb+20", 180 * pound, 20 * pound},
		{"180+20 lb", 180 * pound, 20 * pound},
		{"180 lb", 180 * pound, 0},
		{"180 lb + 9 kg", 180 * pound, 9},
	} {
		var r rider
		if err := r.Set(test.text); err != nil || math.Abs(r.mass-test.mass) > 1e-9 || math.Abs(r.gear-test.gear) > 1e-9 {
			t.Errorf("%q: got %v and %v and %v, want %v and %v", test.text, r.mass, r.gear, err, test.mass, test.gear)
		}
	}
	for _, text := range []string{"", "+", "82+", "+11", "82+11+3", "82 mm", "82+11 mm", "heavy", "82 kg 11 kg", "1e400"} {
		var r rider
		if err := r.Set(text); err == nil || r.String() != "" {
			t.Errorf("%q: got %v and %v, want an error", text, r.mass, r.gear)
		}
	}
}
