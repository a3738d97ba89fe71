package workshop

import (
	"fmt"
	"math"
	"strconv"
)

// InputError reports an argument for which the formula has no meaning: a
// negative length, an angle that is not a number, a volume that the
// container cannot hold. Every error of this package is an *InputError or wraps
// one, so a caller can name the field at fault:
//
//	var in *workshop.InputError
//	if errors.As(err, &in) { … in.Param … }
type InputError struct {
	// Param is the name of the parameter as the function's signature spells it,
	// unit included: "lengthMM".
	Param string
	// Value is what was given, or NaN where the parameter is text.
	Value float64
	// Text is what was given where the parameter is text, such as a thread
	// designation; otherwise it is empty.
	Text string
	// Want says what would have been accepted, as the end of a sentence that
	// starts with "want": "a finite number above 0".
	Want string

	isText bool
}

// Error says the field, what it got and what was wanted.
func (e *InputError) Error() string {
	got := strconv.FormatFloat(e.Value, 'g', -1, 64)
	if e.Text != "" {
		got = strconv.Quote(e.Text)
	} else if e.isText {
		got = "empty"
	}
	return e.Param + " is " + got + ", want " + e.Want
}

// badInput returns an *InputError.
func badInput(param string, value float64, want string) error {
	return &InputError{Param: param, Value: value, Want: want}
}

// badText returns an *InputError for a parameter that is text.
func badText(param, text, want string) error {
	return &InputError{Param: param, Value: math.NaN(), Text: text, Want: want, isText: true}
}

// finite refuses NaN and the infinities.
func finite(param string, v float64) error {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return badInput(param, v, "a finite number")
	}
	return nil
}

// positive refuses everything but a finite number above 0.
func positive(param string, v float64) error {
	if !(v > 0) || math.IsInf(v, 1) {
		return badInput(param, v, "a finite number above 0")
	}
	return nil
}

// nonNegative refuses everything but a finite number of at least 0.
func nonNegative(param string, v float64) error {
	if !(v >= 0) || math.IsInf(v, 1) {
		return badInput(param, v, "a finite number of at least 0")
	}
	return nil
}

// inRange refuses everything outside the closed range lo to hi, and NaN.
func inRange(param string, v, lo, hi float64) error {
	if !(v >= lo && v <= hi) {
		return badInput(param, v, fmt.Sprintf("%g to %g", lo, hi))
	}
	return nil
}

// firstErr returns the first error that is not nil, so that a function's checks
// read as a list.
func firstErr(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
