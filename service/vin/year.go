package vin

import (
	"fmt"
	"strings"
)

// yearCodes in the order of the years (49 CFR 565.15(d)(1), Table VII): digits
// and letters without I, O, Q, U, Z and 0. They start over every thirty years.
const yearCodes = "ABCDEFGHJKLMNPRSTVWXY123456789"

// The years that the codes are laid down for: two cycles.
const (
	FirstYear = 1980
	LastYear  = 2039
)

// YearError says that no code is laid down for a model year.
type YearError struct {
	Year int
}

func (e *YearError) Error() string {
	return fmt.Sprintf("model year %d has no code: they are laid down for %d to %d", e.Year, FirstYear, LastYear)
}

// ModelYears returns the model years, in rising order, that a code at position
// 10 stands for: one of each thirty-year cycle, such as 1996 and 2026 for 'T'.
// It returns nil for a character that is no code.
//
// Which of the two it is, a motorcycle's VIN does not tell. Light cars and
// trucks do, by position 7: a digit there means the first cycle, a letter the
// second.
func ModelYears(code byte) []int {
	i := strings.IndexByte(yearCodes, code)
	if i < 0 {
		return nil
	}
	return []int{FirstYear + i, FirstYear + len(yearCodes) + i}
}

// YearCode returns the code at position 10 for a model year, or zero and a
// *[YearError] for a year before [FirstYear] or after [LastYear].
func YearCode(year int) (byte, error) {
	if year < FirstYear || year > LastYear {
		return 0, &YearError{Year: year}
	}
	return yearCodes[(year-FirstYear)%len(yearCodes)], nil
}
