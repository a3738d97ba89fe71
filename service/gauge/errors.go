package gauge

import (
	"fmt"
	"slices"
	"strings"

	"github.com/snapgauge/snapgauge/service/spec"
)

// RecordError says why a record cannot be judged at all. It lists every
// violation, in the order of the record.
type RecordError struct {
	Violations []Violation
}

// Violation is one fault of a record's form that only the sheet can show.
type Violation struct {
	// Path of the field in the record, as it was sent: `readings[3].unit`.
	Path string
	// Reason is a stable word for programs.
	Reason Reason
	// Message says field, got and wanted, for a person.
	Message string
}

// Reason is a stable word for a kind of [Violation].
type Reason string

// The reasons.
const (
	// UnitUnknown: no such unit of measure.
	UnitUnknown Reason = "UNIT_UNKNOWN"
	// UnitMissing: a value that has a dimension without a unit.
	UnitMissing Reason = "UNIT_MISSING"
	// DimensionMismatch: a pressure where a length is wanted.
	DimensionMismatch Reason = "DIMENSION_MISMATCH"
	// NegativeQuantity: less than nothing of what cannot be less.
	NegativeQuantity Reason = "NEGATIVE_QUANTITY"
	// ValueTooLarge: beyond all numbers once converted.
	ValueTooLarge Reason = "VALUE_TOO_LARGE"
	// ResultKindMismatch: a number for an inspection, a word for a torque.
	ResultKindMismatch Reason = "RESULT_KIND_MISMATCH"
	// UnitUnexpected: a unit on what is not a number, or not a plain one on a count.
	UnitUnexpected Reason = "UNIT_UNEXPECTED"
	// ConditionConflict: two conditions of one aspect, which exclude each other.
	ConditionConflict Reason = "CONDITION_CONFLICT"
	// TimeOrder: a start after the finish.
	TimeOrder Reason = "TIME_ORDER"
	// DuplicateInstrument: two instruments of one identifier.
	DuplicateInstrument Reason = "DUPLICATE_INSTRUMENT"
)

func (e *RecordError) Error() string {
	lines := make([]string, len(e.Violations))
	for i, v := range e.Violations {
		lines[i] = v.Path + ": " + v.Message
	}
	return "record cannot be judged: " + strings.Join(lines, "; ")
}

// EvalError says that a rule could not be evaluated: it ran past its cost limit
// or failed on values that its types allow. It is a fault of the sheet that
// compiling could not see, never of the record's author.
type EvalError struct {
	Revision string
	Rule     string
	Err      error
}

func (e *EvalError) Error() string {
	return fmt.Sprintf("%s: rule %s: %v", e.Revision, e.Rule, e.Err)
}

// Unwrap gives the evaluator's own error.
func (e *EvalError) Unwrap() error { return e.Err }

// problems gathers what is wrong with a sheet.
type problems []spec.Problem

func (p *problems) add(path, format string, args ...any) {
	*p = append(*p, spec.Problem{Path: path, Message: fmt.Sprintf(format, args...)})
}

func (p problems) err() error {
	if len(p) == 0 {
		return nil
	}
	return &spec.SheetError{Problems: slices.Clone(p)}
}

// pathOf is the path of an element of a sheet's list, as [spec.Problem] has it.
func pathOf(list string, i int) string { return fmt.Sprintf("%s[%d]", list, i) }
