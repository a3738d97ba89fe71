package formula

import (
	"fmt"
	"strings"
)

// UnknownError says that no formula has a name.
type UnknownError struct {
	// Name is what was asked for.
	Name string
	// Suggestions are the names like it, nearest first; often none.
	Suggestions []string
}

// Error says the name and what may have been meant.
func (e *UnknownError) Error() string {
	message := fmt.Sprintf("there is no formula %.60q", e.Name)
	if len(e.Suggestions) > 0 {
		message += "; did you mean " + strings.Join(e.Suggestions, ", ") + "?"
	}
	return message
}

// InputError is one thing wrong with one input of a formula.
type InputError struct {
	// Input is the name of the input; for one that the formula does not have, as
	// it was given.
	Input string
	// Message says what is wrong with it, without its name, in words for people.
	Message string
}

// InputErrors says everything that is wrong with the inputs of a formula:
// those that it does not have, lacks or can not read, or, when all can be read,
// those for which it has no meaning. The formula's own come in their declared
// order, and then by name those that it does not have.
type InputErrors struct {
	// Formula is the name of the formula.
	Formula string
	// Errors is never empty.
	Errors []InputError
}

// Error says all of them in one line.
func (e *InputErrors) Error() string {
	parts := make([]string, len(e.Errors))
	for i, in := range e.Errors {
		parts[i] = in.Input + ": " + in.Message
	}
	return e.Formula + ": " + strings.Join(parts, "; ")
}

// faults collects what is wrong with inputs.
type faults []InputError

func (f *faults) add(input, format string, args ...any) {
	*f = append(*f, InputError{Input: input, Message: fmt.Sprintf(format, args...)})
}

// fault is an error of a work function about one input in its own words.
type fault struct {
	input   string
	message string
}

func (e *fault) Error() string { return e.input + ": " + e.message }

// refuse returns the error of a work function that finds an input at fault.
func refuse(input, format string, args ...any) error {
	return &fault{input: input, message: fmt.Sprintf(format, args...)}
}

// blamed is an error of package workshop for which one input is to blame
// whatever the parameter is called there, because several inputs become the
// same parameter in turn.
type blamed struct {
	input string
	err   error
}

func (e *blamed) Error() string { return e.input + ": " + e.err.Error() }

func (e *blamed) Unwrap() error { return e.err }

// blame returns err as the fault of an input, and nil for nil.
func blame(input string, err error) error {
	if err == nil {
		return nil
	}
	return &blamed{input: input, err: err}
}
