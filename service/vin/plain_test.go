package vin

import (
	"testing"

	"pgregory.net/rapid"
)

func TestPlain(t *testing.T) {
	for in, want := range map[string]string{
		"0VST2E3C7TA000702":    "0VST2E3C7TA000702",
		"0vst 2e3c7-ta00 0702": "0VST2E3C7TA000702",
		" 0vst\t2":             "0VST2",
		"":                     "",
		"--":                   "",
		"o\u00a0ß1":            "Oß1", // capitals of one letter only
	} {
		if got := Plain(in); got != want {
			t.Errorf("Plain(%q) = %q, want %q", in, got, want)
		}
	}
}

// What Parse takes, it takes for what Plain writes.
func TestPlainAgreesWithParse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringMatching(`[0-9A-HJ-NPR-Za-hj-npr-z -]{0,24}`).Draw(t, "vin")
		v, err := Parse(s)
		if err == nil && string(v) != Plain(s) {
			t.Fatalf("Parse(%q) = %q, Plain %q", s, v, Plain(s))
		}
		if Plain(Plain(s)) != Plain(s) {
			t.Fatalf("Plain(%q) is not plain", s)
		}
	})
}
