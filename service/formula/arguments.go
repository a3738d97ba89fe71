package formula

import (
	"slices"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// arguments are the inputs of one calculation as they were understood. The
// accessors panic for a name that the formula does not declare and for one that
// was left out; work functions ask [arguments.has] first for those that may be.
type arguments struct {
	formula *Formula
	byName  map[string]*argument
	bases   map[string]quantity.Unit // by group
}

// argument is one input that was given or has a default.
type argument struct {
	in     *input
	unit   quantity.Unit // of values
	values []float64     // numbers, in unit
	words  []string      // choices
	read   []reading     // what its reader made of it

	// shown is how a number was written, to repeat it without loss.
	shown []written
}

func (a *argument) has(v float64) bool { return slices.Contains(a.values, v) }

// has says whether the input was given, or has a default.
func (a *arguments) has(name string) bool {
	a.declared(name)
	return a.byName[name] != nil
}

func (a *arguments) declared(name string) {
	if a.formula.find(name) == nil {
		panic("formula " + a.formula.name + " does not declare the input " + name)
	}
}

func (a *arguments) get(name string) *argument {
	if !a.has(name) {
		panic("formula " + a.formula.name + " uses the input " + name + ", which was left out")
	}
	return a.byName[name]
}

// num returns a number in the input's unit, or in its group's.
func (a *arguments) num(name string) float64 { return a.get(name).values[0] }

// numOr is num, with what to take when the input was left out.
func (a *arguments) numOr(name string, otherwise float64) float64 {
	if !a.has(name) {
		return otherwise
	}
	return a.num(name)
}

// nums returns the numbers of a list.
func (a *arguments) nums(name string) []float64 { return a.get(name).values }

// count returns a whole number.
func (a *arguments) count(name string) int { return int(a.num(name)) }

// choice returns which of the input's choices was taken.
func (a *arguments) choice(name string) string { return a.get(name).words[0] }

// yes returns a choice between yes and no.
func (a *arguments) yes(name string) bool { return a.choice(name) == "yes" }

// exactlyOne refuses when none of the inputs was given, or more than one: they
// are ways to say the same.
func (a *arguments) exactlyOne(names ...string) error {
	var given []string
	for _, name := range names {
		if a.has(name) {
			given = append(given, name)
		}
	}
	switch {
	case len(given) == 0:
		return refuse(names[0], "is missing; give %s", strings.Join(names, " or "))
	case len(given) > 1:
		return refuse(given[1], "says the same as %s; leave out one of the two", given[0])
	}
	return nil
}

// base returns the unit that the inputs of a group share.
func (a *arguments) base(group string) quantity.Unit { return a.bases[group] }

// value returns what the input's reader made of it.
func value[T any](a *arguments, name string) T { return a.get(name).read[0].value.(T) }

// list returns what the input's reader made of each item.
func list[T any](a *arguments, name string) []T {
	items := a.get(name).read
	all := make([]T, len(items))
	for i, item := range items {
		all[i] = item.value.(T)
	}
	return all
}

// echo repeats the argument as it was understood.
func (a *argument) echo(units quantity.System) *pb.CalculatedValue {
	v := &pb.CalculatedValue{Name: a.in.name, Description: a.in.what}
	var texts []string
	switch {
	case len(a.words) > 0:
		texts = a.words
	case len(a.read) > 0:
		for _, r := range a.read {
			texts = append(texts, r.say(units))
		}
	default:
		for i := range a.values {
			texts = append(texts, a.sayNumber(i, units))
		}
		if !a.in.repeated {
			v.Value, v.Unit = a.values[0], a.unit.Code()
		}
	}
	v.Text = strings.Join(texts, ", ")
	return v
}
