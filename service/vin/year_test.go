package vin

import (
	"errors"
	"slices"
	"testing"
)

// TestYearCodes holds 49 CFR 565.15(d)(1), Table VII (2005 to 2039), and the
// table for 1980 to 2013 that came before it. That the codes are the
// digits and letters without I, O, Q, U, Z and 0, that A is 1980 and again
// 2010, and that T is 2026, was looked up in public comments on the rule; the
// rows in full are from memory.
func TestYearCodes(t *testing.T) {
	table := []struct {
		code        byte
		first, next int
	}{
		{'A', 1980, 2010}, {'B', 1981, 2011}, {'C', 1982, 2012}, {'D', 1983, 2013}, {'E', 1984, 2014},
		{'F', 1985, 2015}, {'G', 1986, 2016}, {'H', 1987, 2017}, {'J', 1988, 2018}, {'K', 1989, 2019},
		{'L', 1990, 2020}, {'M', 1991, 2021}, {'N', 1992, 2022}, {'P', 1993, 2023}, {'R', 1994, 2024},
		{'S', 1995, 2025}, {'T', 1996, 2026}, {'V', 1997, 2027}, {'W', 1998, 2028}, {'X', 1999, 2029},
		{'Y', 2000, 2030}, {'1', 2001, 2031}, {'2', 2002, 2032}, {'3', 2003, 2033}, {'4', 2004, 2034},
		{'5', 2005, 2035}, {'6', 2006, 2036}, {'7', 2007, 2037}, {'8', 2008, 2038}, {'9', 2009, 2039},
	}
	codes := make(map[byte]bool)
	for _, row := range table {
		codes[row.code] = true
		if got := ModelYears(row.code); !slices.Equal(got, []int{row.first, row.next}) {
			t.Errorf("ModelYears(%q) = %v, want %d and %d", row.code, got, row.first, row.next)
		}
		for _, year := range []int{row.first, row.next} {
			if got, err := YearCode(year); err != nil || got != row.code {
				t.Errorf("YearCode(%d) = %q, %v, want %q", year, got, err, row.code)
			}
		}
	}
	for c := range 256 {
		if got := ModelYears(byte(c)); !codes[byte(c)] && got != nil {
			t.Errorf("ModelYears(%q) = %v, want none", byte(c), got)
		}
	}
}

func TestYearCodeRefuses(t *testing.T) {
	for _, year := range []int{FirstYear - 1, LastYear + 1, 0, -1} {
		got, err := YearCode(year)
		var none *YearError
		if !errors.As(err, &none) || none.Year != year || got != 0 {
			t.Errorf("YearCode(%d) = %q, %v", year, got, err)
		}
	}
	if got, want := (&YearError{1979}).Error(), "model year 1979 has no code: they are laid down for 1980 to 2039"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
