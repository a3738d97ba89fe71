package formula

import (
	"errors"
	"fmt"
	"math"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// Calculate works the formula out for inputs by name, each as people write it.
// Inputs that may be left out may be missing or empty. The texts of the answer
// are in the given system of units; its numbers are in the formula's own units,
// whatever the system.
//
// It returns *[InputErrors] for an input that the formula does not have, that is
// missing, that can not be read, measures the wrong thing or is one for which the
// formula has no meaning. The calculation is then nil. It never returns a number
// that is not finite.
func (f *Formula) Calculate(inputs map[string]string, units quantity.System) (*pb.Calculation, error) {
	args, err := f.understand(inputs)
	if err != nil {
		return nil, err
	}
	out, err := f.work(args)
	if err != nil {
		return nil, f.translate(args, err)
	}
	c := &pb.Calculation{
		Formula:     f.name,
		Description: f.description,
		Source:      f.source,
		Caution:     f.caution,
	}
	for i := range f.inputs {
		if arg := args.byName[f.inputs[i].name]; arg != nil {
			c.Inputs = append(c.Inputs, arg.echo(units))
		}
	}
	if len(out) != len(f.results) {
		return nil, fmt.Errorf("formula %s gave %d results, want %d", f.name, len(out), len(f.results))
	}
	for i := range f.results {
		r := &f.results[i]
		if !out[i].finite() {
			return nil, f.overflow(args, r)
		}
		c.Results = append(c.Results, r.values(out[i], args, units)...)
	}
	return c, nil
}

func (o output) finite() bool {
	for _, v := range append(o.series, o.value) {
		if math.IsInf(v, 0) || math.IsNaN(v) {
			return false
		}
	}
	return true
}

// values returns the result as one value, or one for each of a series, or none
// where it is absent.
func (r *result) values(o output, args *arguments, units quantity.System) []*pb.CalculatedValue {
	value := func(v float64) *pb.CalculatedValue {
		unit := r.resolved
		if r.group != "" {
			unit = args.base(r.group)
		}
		return &pb.CalculatedValue{
			Name: r.name, Description: r.what, Value: v, Unit: unit.Code(),
			Text: r.say(v, unit, units),
		}
	}
	switch {
	case o.absent:
		return nil
	case o.text != "":
		return []*pb.CalculatedValue{{Name: r.name, Description: r.what, Text: o.text}}
	case o.series != nil:
		list := make([]*pb.CalculatedValue, len(o.series))
		for i, v := range o.series {
			list[i] = value(v)
			list[i].Name = fmt.Sprintf("%s_%d", r.name, i+1)
		}
		return list
	}
	return []*pb.CalculatedValue{value(o.value)}
}

// overflow lays a result that is not finite at the door of the largest number
// that went in.
func (f *Formula) overflow(args *arguments, r *result) error {
	largest, most := f.inputs[0].name, -1.0
	for i := range f.inputs {
		arg := args.byName[f.inputs[i].name]
		if arg == nil {
			continue
		}
		for _, v := range arg.values {
			// A tiny divisor overflows as a huge factor does.
			if size := math.Abs(math.Log(math.Abs(v))); size > most && !math.IsInf(size, 0) {
				largest, most = arg.in.name, size
			}
		}
	}
	return &InputErrors{Formula: f.name, Errors: []InputError{
		{Input: largest, Message: "with it " + r.name + " is too large to be a number"},
	}}
}

// translate turns the error of a work function into *[InputErrors], with the
// inputs by their own names. An error that is about no input is a slip in this
// package and passes as it is.
func (f *Formula) translate(args *arguments, err error) error {
	var (
		several *InputErrors
		own     *fault
		known   *blamed
	)
	single := func(input, message string) error {
		return &InputErrors{Formula: f.name, Errors: []InputError{{Input: input, Message: message}}}
	}
	switch {
	case errors.As(err, &several):
		return several
	case errors.As(err, &own):
		return single(own.input, own.message)
	case errors.As(err, &known):
		return single(known.input, args.sayError(f.find(known.input), known.err))
	}
	if in := f.atFault(err); in != nil {
		return single(in.name, args.sayError(in, err))
	}
	return fmt.Errorf("formula %s: %w", f.name, err)
}
