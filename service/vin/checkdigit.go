package vin

import (
	"unicode"
	"unicode/utf8"
)

// value is the number that the check digit assigns to each character, or -1
// for one that VINs do not use (49 CFR 565.15(c), Table III).
var value = func() (table [256]int8) {
	for i := range table {
		table[i] = -1
	}
	for c := byte('0'); c <= '9'; c++ {
		table[c] = int8(c - '0')
	}
	// The letters run 1 to 9 three times over, with gaps where I, O and Q
	// would be, and S starts at 2.
	for _, run := range []struct {
		letters string
		first   int8
	}{{"ABCDEFGH", 1}, {"JKLMN", 1}, {"P", 7}, {"R", 9}, {"STUVWXYZ", 2}} {
		for i := range len(run.letters) {
			table[run.letters[i]] = run.first + int8(i)
		}
	}
	return table
}()

// weight of each position (49 CFR 565.15(c), Table IV). The check digit itself
// does not count.
var weight = [Length]int{8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2}

const checkPosition = 9

// CheckDigit returns the check digit, '0' to '9' or 'X', that belongs at
// position 9 of v by 49 CFR 565.15(c). What stands at that position does not
// matter and need not be a character of a VIN, so a VIN can be made up with a
// placeholder there. Elsewhere v must have the seventeen characters of a VIN,
// in capitals; CheckDigit returns zero and a *[ShapeError] otherwise.
func CheckDigit(v string) (byte, error) {
	if n := utf8.RuneCountInString(v); n != Length {
		return 0, &ShapeError{Length: n, Wanted: "17"}
	}
	sum, position := 0, 0
	for _, r := range v {
		position++
		if position == checkPosition {
			continue
		}
		if r > unicode.MaxASCII || value[r] < 0 {
			return 0, &ShapeError{Position: position, Character: r, Length: Length,
				Wanted: "a digit or a capital letter (I, O and Q are never used)"}
		}
		sum += int(value[r]) * weight[position-1]
	}
	return "0123456789X"[sum%11], nil
}

// CheckDigitOK reports whether position 9 is the check digit of v. Outside the
// markets that use one, a false answer means nothing.
//
// A right check digit shows that no single character was misread, except for
// one of the same value (A for 1, S for B). It does not show that the
// machine exists.
func (v VIN) CheckDigitOK() bool {
	digit, err := CheckDigit(string(v))
	return err == nil && v.at(checkPosition) == digit
}
