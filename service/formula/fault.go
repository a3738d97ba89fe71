package formula

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/workshop"
)

// atFault returns the input that a *[workshop.InputError] is about, or nil for
// another error or parameter. The parameter's whole name counts before the name
// of what it is a part of: "margin.ML" before "margin".
func (f *Formula) atFault(err error) *input {
	part := paramOf(err)
	if part == "" {
		return nil
	}
	whole, _, _ := strings.Cut(part, ".")
	whole, _, _ = strings.Cut(whole, "[")
	for _, param := range []string{part, whole} {
		for i := range f.inputs {
			for name := range strings.FieldsSeq(f.inputs[i].param) {
				if name == param {
					return &f.inputs[i]
				}
			}
		}
	}
	return nil
}

// paramOf returns the parameter that a *[workshop.InputError] is about, or
// nothing for another error.
func paramOf(err error) string {
	var bad *workshop.InputError
	if errors.As(err, &bad) {
		return bad.Param
	}
	return ""
}

// sayError words an error of package workshop about an input for the person who
// wrote the input.
func (a *arguments) sayError(in *input, err error) string {
	var bad *workshop.InputError
	if !errors.As(err, &bad) {
		return err.Error()
	}
	if bad.Text != "" {
		return fmt.Sprintf("is %.60q, want %s", bad.Text, bad.Want)
	}
	arg := a.byName[in.name]
	if in.mix && arg != nil && arg.has(bad.Value) {
		return arg.sayNoMix(bad)
	}
	unit := in.resolved
	if in.group != "" {
		unit = a.base(in.group)
	}
	if arg != nil && in.isNumber() && arg.has(bad.Value) {
		want := bad.Want
		if symbol := unit.Symbol(); symbol != "" && strings.ContainsAny(want, "0123456789") {
			want += " (in " + symbol + ")"
		}
		return "is " + inUnit(in, bad.Value, unit) + ", want " + want
	}
	if in.isNumber() || in.read != nil {
		// Something made of the input, such as a corner of an outline.
		return bad.Param + " is " + strconv.FormatFloat(bad.Value, 'g', 6, 64) + ", want " + bad.Want
	}
	return fmt.Sprintf("is not possible, want %s", bad.Want)
}

// inUnit writes a number of an input in its own unit.
func inUnit(in *input, v float64, unit quantity.Unit) string {
	if in.mix {
		return sayRatio(v)
	}
	if in.span && unit == celsius {
		unit = kelvin
	}
	return quantity.Quantity{Value: v, Unit: unit}.String()
}
