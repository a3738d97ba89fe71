package filter

import (
	"fmt"

	"github.com/snapgauge/snapgauge/service/store"
)

// Error says what is wrong with a filter. It satisfies
// errors.Is(err, store.ErrInvalidQuery).
type Error struct {
	// Position is the number of the character where it is wrong, counted from
	// 1. Zero when the whole is.
	Position int
	// Field is the field that it concerns, or "".
	Field string
	// Got is what stands there, shortened.
	Got string
	// Wanted is what may stand there, in plain words.
	Wanted string
}

// Error names place, field, what was got and what was wanted.
func (e *Error) Error() string {
	text := "filter: "
	if e.Position > 0 {
		text += fmt.Sprintf("character %d: ", e.Position)
	}
	if e.Field != "" {
		text += e.Field + ": "
	}
	return text + "got " + e.Got + ", wanted " + e.Wanted
}

// Unwrap returns [store.ErrInvalidQuery].
func (e *Error) Unwrap() error { return store.ErrInvalidQuery }
