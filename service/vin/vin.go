package vin

import (
	"fmt"
	"strings"
	"unicode"
)

// Length is the number of characters of a VIN.
const Length = 17

// VIN is a vehicle identification number: seventeen characters, in capitals.
// Make one with [Parse]. On any other string the methods give empty strings,
// zero bytes and false; they never panic.
type VIN string

// ShapeError says what keeps a text from being a VIN.
type ShapeError struct {
	// Position of the offending character, counted from 1 after the spaces
	// and hyphens were taken out. Zero when the length is wrong.
	Position int
	// Character found there, as it was written. Zero when the length is wrong.
	Character rune
	// Length of the text in characters without spaces and hyphens.
	Length int
	// Wanted says in plain words what should stand there.
	Wanted string
}

func (e *ShapeError) Error() string {
	if e.Position == 0 {
		return fmt.Sprintf("a VIN of %d characters: wanted %s", e.Length, e.Wanted)
	}
	return fmt.Sprintf("character %d of the VIN is %q: wanted %s", e.Position, e.Character, e.Wanted)
}

// Parse reads a VIN as people write it. Spaces and hyphens are taken out
// wherever they stand, since number plates and papers print them between the
// sections, and small letters are raised.
//
// It returns a *[ShapeError] for the first thing that is against ISO 3779: the
// length, a character that VINs do not use, a letter among the last four. It
// does not look at the check digit, which not every market has.
func Parse(s string) (VIN, error) {
	// The common case is clean, and then nothing is copied.
	if isClean(s) {
		return VIN(s), nil
	}
	characters := make([]rune, 0, Length+1)
	length := 0
	for _, r := range s {
		if r == '-' || unicode.IsSpace(r) {
			continue
		}
		if length++; length <= Length {
			characters = append(characters, r)
		}
	}
	if length != Length {
		return "", &ShapeError{Length: length, Wanted: "17"}
	}
	var raised [Length]byte
	for i, r := range characters {
		c, wanted := checkCharacter(i, r)
		if wanted != "" {
			return "", &ShapeError{Position: i + 1, Character: r, Length: length, Wanted: wanted}
		}
		raised[i] = c
	}
	return VIN(raised[:]), nil
}

// firstNumeric is the index of the four last characters, which are digits
// whoever the maker is (ISO 3779, from memory; 49 CFR 565.15(d) for vehicles
// other than light cars and trucks, from memory).
const firstNumeric = Length - 4

func isClean(s string) bool {
	if len(s) != Length {
		return false
	}
	for i := range Length {
		if value[s[i]] < 0 || i >= firstNumeric && s[i] > '9' {
			return false
		}
	}
	return true
}

// checkCharacter raises r, or says what is wanted in its stead at index i.
func checkCharacter(i int, r rune) (raised byte, wanted string) {
	if 'a' <= r && r <= 'z' {
		r -= 'a' - 'A'
	}
	switch {
	case r == 'I' || r == 'O' || r == 'Q':
		return 0, "a digit or a letter (I, O and Q are never used; perhaps it is " + lookalike(r) + ")"
	case r > unicode.MaxASCII || value[byte(r)] < 0:
		return 0, "a digit or a letter"
	case i >= firstNumeric && r > '9':
		return 0, "a digit, as the last four characters are"
	}
	return byte(r), ""
}

func lookalike(r rune) string {
	if r == 'I' {
		return "1"
	}
	return "0"
}

// section returns the characters from one position to another, both counted
// from 1 and included.
func (v VIN) section(from, to int) string {
	if len(v) != Length {
		return ""
	}
	return string(v[from-1 : to])
}

func (v VIN) at(position int) byte {
	if len(v) != Length {
		return 0
	}
	return v[position-1]
}

// WMI returns the world manufacturer identifier, positions 1 to 3.
func (v VIN) WMI() string { return v.section(1, 3) }

// VDS returns the vehicle descriptor section, positions 4 to 9 as ISO 3779
// counts it: the check digit, where the market has one, is its last character.
func (v VIN) VDS() string { return v.section(4, 9) }

// VIS returns the vehicle indicator section, positions 10 to 17.
func (v VIN) VIS() string { return v.section(10, 17) }

// ModelYearCode returns position 10. See [ModelYears] for what it means.
func (v VIN) ModelYearCode() byte { return v.at(10) }

// PlantCode returns position 11. Its meaning is the maker's own.
func (v VIN) PlantCode() byte { return v.at(11) }

// SmallMaker reports whether the WMI is one that makers of few vehicles share
// and positions 12 to 14 are needed to tell the maker.
func (v VIN) SmallMaker() bool { return v.at(3) == '9' }

// Serial returns the production number: positions 12 to 17, or 15 to 17 of a
// small maker (see [VIN.SmallMaker]).
func (v VIN) Serial() string {
	if v.SmallMaker() {
		return v.section(15, 17)
	}
	return v.section(12, 17)
}

// String returns v as it is.
func (v VIN) String() string { return string(v) }

// Grouped returns v with spaces between its sections and after the check
// digit, for people to read and copy: "0SG ETBA2X A1 000123".
func (v VIN) Grouped() string {
	if len(v) != Length {
		return string(v)
	}
	return strings.Join([]string{v.section(1, 3), v.section(4, 9), v.section(10, 11), v.section(12, 17)}, " ")
}
