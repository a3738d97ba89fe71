package formula

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/snapgauge/snapgauge/service/quantity"
)

const (
	// maxText bounds one input, in bytes.
	maxText = 16 << 10
	// maxItems bounds a list.
	maxItems = 200
)

// understand reads the inputs. It returns *[InputErrors] with everything that is
// wrong with any of them.
func (f *Formula) understand(inputs map[string]string) (*arguments, error) {
	a := &arguments{formula: f, byName: make(map[string]*argument)}
	var bad faults
	for i := range f.inputs {
		in := &f.inputs[i]
		text := strings.TrimSpace(inputs[in.name])
		if text == "" {
			text = in.fallback
		}
		if text == "" {
			if !in.optional {
				bad.add(in.name, "is missing; it is %s", lowerFirst(in.what))
			}
			continue
		}
		arg, problem := in.understand(text)
		if problem != "" {
			bad.add(in.name, "%s", problem)
			continue
		}
		a.byName[in.name] = arg
	}
	a.convert(&bad)
	for _, name := range slices.Sorted(maps.Keys(inputs)) {
		if f.find(name) == nil {
			bad.add(name, "%s", f.unknownInput(name))
		}
	}
	if len(bad) > 0 {
		return nil, &InputErrors{Formula: f.name, Errors: f.inOrder(bad)}
	}
	return a, nil
}

// inOrder sorts what is wrong by the order in which the inputs are declared;
// those that are not declared stay last.
func (f *Formula) inOrder(bad faults) []InputError {
	place := func(e InputError) int {
		for i := range f.inputs {
			if f.inputs[i].name == e.Input {
				return i
			}
		}
		return len(f.inputs)
	}
	slices.SortStableFunc(bad, func(x, y InputError) int { return place(x) - place(y) })
	return bad
}

func (f *Formula) unknownInput(name string) string {
	names := make([]string, len(f.inputs))
	for i := range f.inputs {
		names[i] = f.inputs[i].name
	}
	if near := nearest(name, names); len(near) > 0 {
		return fmt.Sprintf("%s has no such input; did you mean %s?", f.name, near[0])
	}
	return fmt.Sprintf("%s has no such input; it takes %s", f.name, strings.Join(names, ", "))
}

// understand reads one input; problem is empty on success. Numbers are left as
// they were written, in shown.
func (in *input) understand(text string) (arg *argument, problem string) {
	switch {
	case len(text) > maxText:
		return nil, fmt.Sprintf("is %d bytes long, want at most %d", len(text), maxText)
	case !utf8.ValidString(text):
		return nil, "is not text"
	}
	items := []string{text}
	if in.repeated {
		items = strings.Split(text, ",")
		if len(items) > maxItems {
			return nil, fmt.Sprintf("is a list of %d, want at most %d", len(items), maxItems)
		}
	}
	arg = &argument{in: in}
	for _, item := range items {
		if problem := arg.add(strings.TrimSpace(item)); problem != "" {
			return nil, problem
		}
	}
	return arg, ""
}

func (a *argument) add(text string) (problem string) {
	switch {
	case a.in.read != nil:
		r, problem := a.in.read(text)
		a.read = append(a.read, r)
		return problem
	case len(a.in.choices) > 0:
		word, problem := a.in.choose(text)
		a.words = append(a.words, word)
		return problem
	}
	q, problem := readQuantity(text)
	a.shown = append(a.shown, q)
	return problem
}

// convert brings all numbers into their input's unit, or their group's.
func (a *arguments) convert(bad *faults) {
	a.bases = make(map[string]quantity.Unit)
	for i := range a.formula.inputs {
		in := &a.formula.inputs[i]
		if _, done := a.bases[in.group]; in.group != "" && !done {
			a.bases[in.group] = a.chooseBase(in)
		}
	}
	for i := range a.formula.inputs {
		in := &a.formula.inputs[i]
		arg := a.byName[in.name]
		if arg == nil || !in.isNumber() {
			continue
		}
		arg.unit = in.resolved
		if in.group != "" {
			arg.unit = a.bases[in.group]
		}
		for k := range arg.shown {
			v, problem := arg.inOwnUnit(k)
			if problem != "" {
				bad.add(in.name, "%s", problem)
				break
			}
			arg.values = append(arg.values, v)
		}
	}
}

// chooseBase returns the unit that the group of an input shares: that of its
// first value with a unit, one on a scale before a difference. Where the group
// declares a unit that wins over others of its dimension (turns over degrees),
// and stands when no value has one.
func (a *arguments) chooseBase(first *input) quantity.Unit {
	for _, differences := range []bool{false, true} {
		for i := range a.formula.inputs {
			in := &a.formula.inputs[i]
			arg := a.byName[in.name]
			if arg == nil || in.group != first.group || in.span != differences {
				continue
			}
			for _, q := range arg.shown {
				switch {
				case q.Unit == plainNumber && !q.ratio:
				case first.unit != "" && q.Unit.Dimension() == first.resolved.Dimension():
					return first.resolved
				default:
					return q.Unit
				}
			}
		}
	}
	return first.resolved
}

// inOwnUnit returns the number in the argument's unit. A number without a unit is
// in that already.
func (a *argument) inOwnUnit(i int) (v float64, problem string) {
	q := &a.shown[i]
	switch {
	case q.Unit == plainNumber && !q.ratio:
		q.Unit = a.unit
		v = q.Value
	case a.in.span:
		v, problem = converted(q.Unit.ConvertDifference(q.Value, a.unit))
	default:
		v, problem = converted(q.Unit.Convert(q.Value, a.unit))
	}
	switch {
	case problem != "":
		return 0, fmt.Sprintf("%s is %s, want %s", q.Quantity, q.Unit.Dimension(), wanted(a.unit))
	case math.IsInf(v, 0):
		return 0, "is too large"
	case a.in.mix && v > 0 && v < 1:
		v = 1 / v
	case a.in.whole:
		return wholeNumber(v)
	}
	return v, ""
}

func converted(v float64, err error) (float64, string) {
	if err != nil {
		return 0, err.Error()
	}
	return v, ""
}

// wanted names a unit's dimension, and the unit where it has one.
func wanted(u quantity.Unit) string {
	if u.Symbol() == "" {
		return "a " + u.Dimension().String()
	}
	return u.Dimension().String() + ", such as in " + u.Symbol()
}

// wholeNumber refuses what is not whole but for the rounding of a conversion.
func wholeNumber(v float64) (n float64, problem string) {
	const most = 1e6
	n = math.Round(v)
	if math.Abs(v) > most || math.Abs(v-n) > 1e-9*max(1, math.Abs(v)) {
		return 0, fmt.Sprintf("is %.6g, want a whole number of at most a million", v)
	}
	return n, ""
}
