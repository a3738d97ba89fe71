package vin

import (
	"errors"
	"testing"

	"pgregory.net/rapid"
)

func TestPattern(t *testing.T) {
	tests := []struct {
		pattern string
		want    bool
	}{
		{"0SG", true},
		{"0sg?t", true},
		{"0SG?TB?????", true},
		{"?????????T", true},
		{invented, true},
		{"?????????????????", true},
		{"0SG?TC?????", false},
		{"1", false},
		{"?????????V", false},
	}
	for _, tt := range tests {
		p, err := CompilePattern(tt.pattern)
		if err != nil {
			t.Errorf("CompilePattern(%q): %v", tt.pattern, err)
			continue
		}
		if got := p.Match(invented); got != tt.want {
			t.Errorf("%q matches: %v, want %v", tt.pattern, got, tt.want)
		}
		if again, err := CompilePattern(p.String()); err != nil || again != p {
			t.Errorf("%q reads back as %v, %v", p, again, err)
		}
		if p.Match("") || p.Match("0SG") || p.Match(invented+"0") {
			t.Errorf("%q matches what is no VIN", tt.pattern)
		}
	}
	if !(Pattern{}).Match(invented) {
		t.Error("the zero Pattern does not match")
	}
}

func TestCompilePatternRefuses(t *testing.T) {
	for pattern, position := range map[string]int{
		"":                   0,
		"0SG???????????????": 0,
		"0SO":                3,
		"0SG*":               4,
		"0SG ?":              4,
		"?????????????A":     14, // a letter where only digits stand
		"é":                  1,
	} {
		p, err := CompilePattern(pattern)
		var refused *PatternError
		if !errors.As(err, &refused) || refused.Position != position || refused.Pattern != pattern || p != (Pattern{}) {
			t.Errorf("CompilePattern(%q) = %v, %v", pattern, p, err)
		}
	}
	_, err := CompilePattern("0SI")
	if got, want := err.Error(), `VIN pattern "0SI": character 3 is 'I': wanted ? or a digit or a letter (I, O and Q are never used; perhaps it is 1)`; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	_, err = CompilePattern("")
	if got, want := err.Error(), `VIN pattern "": has 0 characters, wanted 1 to 17`; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// A pattern made from a VIN by opening some places matches exactly the VINs
// that agree in the others.
func TestPatternAgreesWithComparison(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v, other := anyVIN().Draw(t, "vin"), anyVIN().Draw(t, "other")
		text := []byte(v)[:rapid.IntRange(1, Length).Draw(t, "length")]
		agrees := true
		for i := range text {
			if rapid.Bool().Draw(t, "open") {
				text[i] = '?'
			} else if other[i] != v[i] {
				agrees = false
			}
		}
		p, err := CompilePattern(string(text))
		if err != nil {
			t.Fatal(err)
		}
		if !p.Match(v) || p.Match(other) != agrees {
			t.Fatalf("%q: matches %s %v, %s %v", text, v, p.Match(v), other, p.Match(other))
		}
	})
}
