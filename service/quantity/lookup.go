package quantity

import (
	"fmt"
	"strings"
	"unicode/utf8"

	nearest "github.com/snapgauge/snapgauge/service/near"
)

// UnknownUnitError says that a name is no unit of the registry.
type UnknownUnitError struct {
	Code       string // as it was given
	Suggestion string // the nearest name that ParseUnit takes, the first of the catalogue among equals; or empty
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
	return Unit{}, &UnknownUnitError{Code: code, Suggestion: nearest.Name(code, units.names)}
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

// maxUnitName bounds the folding of a name that can not be a unit anyway.
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
