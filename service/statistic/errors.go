package statistic

import (
	"math"
	"strconv"
)

// InputError reports an argument for which the statistic has no meaning: fewer
// values than it needs, a proportion above 1, a number that is not one. Every
// error of this package is an *InputError, so a caller can name the field at
// fault.
type InputError struct {
	// Param is the parameter as the function's signature spells it, with the
	// place in a list where there is one: "expected[3]", "groups[0].N".
	Param string
	// Value is what was given, or what was computed from it.
	Value float64
	// Want says what would have been accepted, as the end of a sentence that
	// starts with "wanted": "at least 2".
	Want string
}

// Error says the parameter, what it got and what was wanted.
func (e *InputError) Error() string {
	return e.Param + ": got " + strconv.FormatFloat(e.Value, 'g', -1, 64) + ", wanted " + e.Want
}

// badInput returns an *InputError.
func badInput(param string, value float64, want string) error {
	return &InputError{Param: param, Value: value, Want: want}
}

// at names a place in a list.
func at(list string, i int) string { return list + "[" + strconv.Itoa(i) + "]" }

// finite says whether v is neither NaN nor an infinity.
func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// checkConfidence refuses everything but a number strictly between 0 and 1.
func checkConfidence(confidence float64) error {
	if !(confidence > 0 && confidence < 1) {
		return badInput("confidence", confidence, "a number above 0 and below 1")
	}
	return nil
}
