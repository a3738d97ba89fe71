package document

import (
	"fmt"
	"strings"
)

// Error is one thing wrong with a document.
type Error struct {
	// File is the name from [Options].
	File string
	// Line and Column of the place, counted from 1, columns in characters.
	// Nought where the whole document is meant.
	Line, Column int
	// Field is the path of the field, such as readings[3].unit. Empty outside
	// of any field.
	Field string
	// Message says what was found and what was wanted.
	Message string
}

// Error gives "file:12:5: field: message", without the parts that are not
// known.
func (e *Error) Error() string {
	var b strings.Builder
	switch {
	case e.File != "" && e.Line > 0:
		fmt.Fprintf(&b, "%s:%d:%d: ", e.File, e.Line, e.Column)
	case e.File != "":
		b.WriteString(e.File + ": ")
	case e.Line > 0:
		fmt.Fprintf(&b, "line %d, column %d: ", e.Line, e.Column)
	}
	if e.Field != "" {
		b.WriteString(e.Field + ": ")
	}
	b.WriteString(e.Message)
	return b.String()
}

// Errors is several things wrong with a document, in its order.
type Errors []*Error

// Error gives one line for each.
func (e Errors) Error() string {
	lines := make([]string, len(e))
	for i, one := range e {
		lines[i] = one.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap lets errors.As find the first *[Error].
func (e Errors) Unwrap() []error {
	all := make([]error, len(e))
	for i, one := range e {
		all[i] = one
	}
	return all
}
