package spec

import (
	"fmt"
	"strings"
	"time"
)

// Problem is one thing wrong with a sheet.
type Problem struct {
	// File, Line and Column say where, counted from 1, when the sheet came from
	// a file. They are empty or nought otherwise.
	File         string
	Line, Column int
	// Path is the field, in the form characteristics[12].limits.unit. Empty
	// where the whole sheet or file is meant.
	Path string
	// Message says what is wrong: what was found and what was wanted.
	Message string
}

// String gives the problem on one line, "file:12:5: path: message", without the
// parts that are not known.
func (p Problem) String() string {
	var b strings.Builder
	if p.File != "" {
		b.WriteString(p.File)
		if p.Line > 0 {
			fmt.Fprintf(&b, ":%d:%d", p.Line, p.Column)
		}
		b.WriteString(": ")
	}
	if p.Path != "" {
		b.WriteString(p.Path)
		b.WriteString(": ")
	}
	b.WriteString(p.Message)
	return b.String()
}

// SheetError says that one sheet or several are unfit for use. It is about the
// sheets, never about a record or about what was asked.
type SheetError struct {
	// Problems holds everything that was found, at least one. From [Load] they
	// are in the order of files and lines, otherwise in that of [Lint].
	Problems []Problem
}

func (e *SheetError) Error() string {
	lines := make([]string, len(e.Problems))
	for i, p := range e.Problems {
		lines[i] = p.String()
	}
	return strings.Join(lines, "\n")
}

// MaxSuggestions is how many names a [NotFoundError] offers.
const MaxSuggestions = 5

// NotFoundError says that there is no such model, spec or revision, that no
// sheet of it covers the unit, or that what was said could be several models.
type NotFoundError struct {
	// What was asked for, in words: `model "Scree 20i" of 2026 in EU`.
	What string
	// Suggestions holds up to five near names, best first.
	Suggestions []string
}

func (e *NotFoundError) Error() string {
	if len(e.Suggestions) == 0 {
		return "no " + e.What
	}
	return fmt.Sprintf("no %s; did you mean %s?", e.What, strings.Join(e.Suggestions, " or "))
}

// NotInForceError says that a spec exists, but none of its revisions was in
// force yet at the time asked about.
type NotInForceError struct {
	// Spec is the identifier of the spec.
	Spec string
	// AsOf is the time asked about.
	AsOf time.Time
	// First is when its first revision came or comes into force.
	First time.Time
}

func (e *NotInForceError) Error() string {
	return fmt.Sprintf("spec %s was not in force on %s: its first revision holds from %s",
		e.Spec, e.AsOf.UTC().Format(time.RFC3339), e.First.UTC().Format(time.RFC3339))
}
