package vin

import (
	"fmt"
	"unicode/utf8"
)

// Pattern selects VINs by their first characters: "0SG?TB?????" is WMI 0SG
// with T and B at positions 5 and 6. Patterns are equal under == exactly when
// they select the same way. The zero Pattern matches every VIN.
type Pattern struct {
	text string // in capitals, '?' for any character
}

// PatternError says why a text is no pattern.
type PatternError struct {
	Pattern  string
	Position int // of the offending character, from 1; zero when the length is wrong
	Reason   string
}

func (e *PatternError) Error() string {
	if e.Position == 0 {
		return fmt.Sprintf("VIN pattern %.40q: %s", e.Pattern, e.Reason)
	}
	return fmt.Sprintf("VIN pattern %.40q: character %d %s", e.Pattern, e.Position, e.Reason)
}

// CompilePattern reads a pattern of 1 to 17 characters, each one that VINs use
// or '?' for any. Small letters are raised. A pattern shorter than a VIN
// leaves the rest open. It returns a *[PatternError] for anything else,
// including the empty text, which is more likely forgotten than meant.
func CompilePattern(pattern string) (Pattern, error) {
	n := utf8.RuneCountInString(pattern)
	if n == 0 || n > Length {
		return Pattern{}, &PatternError{Pattern: pattern,
			Reason: fmt.Sprintf("has %d characters, wanted 1 to %d", n, Length)}
	}
	text := make([]byte, 0, n)
	position := 0
	for _, r := range pattern {
		position++
		if r == '?' {
			text = append(text, '?')
			continue
		}
		c, wanted := checkCharacter(position-1, r)
		if wanted != "" {
			return Pattern{}, &PatternError{Pattern: pattern, Position: position,
				Reason: fmt.Sprintf("is %q: wanted ? or %s", r, wanted)}
		}
		text = append(text, c)
	}
	return Pattern{text: string(text)}, nil
}

// Match reports whether v agrees with the pattern. A v that is not of a VIN's
// length matches nothing. It does not allocate.
func (p Pattern) Match(v VIN) bool {
	if len(v) != Length {
		return false
	}
	for i := range len(p.text) {
		if p.text[i] != '?' && p.text[i] != v[i] {
			return false
		}
	}
	return true
}

// String returns the pattern in capitals, as [CompilePattern] reads it.
func (p Pattern) String() string { return p.text }
