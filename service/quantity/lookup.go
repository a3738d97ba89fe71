package quantity

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// UnknownUnitError says that a name is no unit of the registry.
type UnknownUnitError struct {
	Code       string // as it was given
	Suggestion string // a name near it that ParseUnit takes, or empty
}

func (e *UnknownUnitError) Error() string {
	if e.Suggestion == "" {
		return fmt.Sprintf("unknown unit %.40q", e.Code)
	}
	return fmt.Sprintf("unknown unit %.40q, did you mean %q?", e.Code, e.Suggestion)
}

// ParseUnit returns the unit of that UCUM code, symbol or alias, or a
// *[UnknownUnitError]. The empty string is no unit: whoever means a plain
// number says "1", so that a forgotten unit is noticed.
//
// A name spelled as the registry spells it costs one map look-up and no
// allocation. Otherwise surrounding and doubled spaces are overlooked, and so
// is case, except in one-letter names and in a leading m or M, where it tells
// milli from mega.
func ParseUnit(code string) (Unit, error) {
	if u, ok := units.byName[code]; ok {
		return u, nil
	}
	if len(code) <= maxUnitName {
		if u, ok := units.folded[fold(code)]; ok {
			return u, nil
		}
	}
	return Unit{}, &UnknownUnitError{Code: code, Suggestion: suggest(code)}
}

// MustUnit is [ParseUnit] for codes written in a program. It panics where
// ParseUnit fails.
func MustUnit(code string) Unit {
	u, err := ParseUnit(code)
	if err != nil {
		panic("quantity: " + err.Error())
	}
	return u
}

// maxUnitName bounds the work done for a name that can not be a unit anyway.
const maxUnitName = 40

func fold(name string) string {
	name = strings.Join(strings.Fields(name), " ")
	if utf8.RuneCountInString(name) < 2 {
		return name
	}
	if name[0] == 'M' {
		return "M" + strings.ToLower(name[1:])
	}
	return strings.ToLower(name)
}

// suggest returns the name nearest to code by edit distance, the first in the
// order of the catalogue among equals, or nothing if none is near.
func suggest(code string) string {
	if code == "" || len(code) > maxUnitName {
		return ""
	}
	// Case alone is half a slip: "mpa" is nearer to MPa than to bar.
	wanted := []rune(strings.ToLower(code))
	limit := max(1, len(wanted)/3)
	best, nearest := "", limit+1
	for _, name := range units.names {
		if d := editDistance(wanted, []rune(strings.ToLower(name)), nearest); d < nearest {
			best, nearest = name, d
		}
	}
	if nearest >= len(wanted) { // nothing of what was written is kept
		return ""
	}
	return best
}

// editDistance is the Levenshtein distance of a and b, or any value of at
// least limit if it is not below limit.
func editDistance(a, b []rune, limit int) int {
	if max(len(a)-len(b), len(b)-len(a)) >= limit {
		return limit
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range a {
		diagonal := row[0]
		row[0] = i + 1
		for j := range b {
			substituted := diagonal
			if a[i] != b[j] {
				substituted++
			}
			diagonal = row[j+1]
			row[j+1] = min(substituted, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
