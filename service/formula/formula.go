package formula

import (
	"cmp"
	"fmt"
	"slices"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// Formula is one formula of the catalogue. Get one from [Find] or [All]; the
// zero Formula is of no use.
type Formula struct {
	name        string // lower-case words joined by hyphens
	topic       string
	description string
	source      string // as the comment of the workshop's function has it
	caution     string // what can hurt someone or ruin something
	inputs      []input
	results     []result

	// work hands the arguments to package workshop. It is called only when every
	// input that is needed was given and could be read. It returns one output for
	// each of results, in their order.
	work func(*arguments) (outputs, error)

	message *pb.Formula // built once, handed out as copies
}

// input declares one thing that goes in. It is a number unless read is set or
// choices are.
type input struct {
	name string // lower-case words joined by underscores
	what string
	unit string // UCUM code, the unit of the workshop's parameter; empty for text
	// param names the parameters of the workshop's function that are this input,
	// joined by spaces, as its errors spell them: "torqueNM", "Permitted.Lower".
	// A name also stands for its parts ("outline" for "outline[3].Y").
	param string

	optional bool
	fallback string // what it is when left out
	choices  []string
	repeated bool
	read     reader

	whole bool // a whole number
	exact bool // repeated in the unit it was written in, for all readers
	span  bool // a difference, which matters for temperatures
	mix   bool // parts of fuel to one of oil; "1:50" and "2 %" are 50 too
	group string

	resolved quantity.Unit
}

// isNumber says whether the input is a quantity and not text.
func (in *input) isNumber() bool { return in.read == nil && len(in.choices) == 0 }

// result declares one thing that comes out.
type result struct {
	name   string
	unit   string // UCUM code; empty for text, and for what is in the unit of group
	what   string
	digits int // significant digits of the text; 0 for what suits the dimension
	form   form
	group  string // in the unit that the inputs of this group share

	resolved quantity.Unit
}

// form is how the text of a number is written.
type form int

const (
	plain       form = iota
	span             // a difference: 8 K is 14.4 °F
	asStands         // in its own unit for all readers: a 13 mm spanner, a choice of unit
	ratioToOne       // 50:1
	share            // 0.04 is 4 %
	atMost           // rounded down: more would not be safe
	probability      // a share that says so when it is next to none or all
)

// All returns every formula, by topic and then by name. The caller may change
// the slice.
func All() []*Formula { return slices.Clone(catalogue) }

// Find returns the formula of that name, or an *[UnknownError] with the names
// that are like it.
func Find(name string) (*Formula, error) {
	for _, f := range catalogue {
		if f.name == name {
			return f, nil
		}
	}
	return nil, &UnknownError{Name: name, Suggestions: suggestFormulas(name)}
}

// Name returns the formula's name: "wrench-setting".
func (f *Formula) Name() string { return f.name }

// Proto returns what the formula takes and gives. The caller owns the message.
//
// The unit is empty for text, and also for a value whose unit the caller
// chooses; the description then says so.
func (f *Formula) Proto() *pb.Formula {
	return proto.Clone(f.message).(*pb.Formula)
}

func (f *Formula) find(name string) *input {
	for i := range f.inputs {
		if f.inputs[i].name == name {
			return &f.inputs[i]
		}
	}
	return nil
}

// compile puts the declarations in order and resolves their units. It panics on
// a declaration that names an unknown unit, declares a name twice or lacks what
// every formula must have: those are slips in this package, which its tests
// meet at once.
func compile(topics ...[]Formula) []*Formula {
	var all []*Formula
	seen := make(map[string]bool)
	for _, topic := range topics {
		for _, f := range topic {
			if seen[f.name] {
				panic("formula: " + f.name + " is declared twice")
			}
			seen[f.name] = true
			f.inputs, f.results = slices.Clone(f.inputs), slices.Clone(f.results)
			f.prepare()
			all = append(all, &f)
		}
	}
	slices.SortFunc(all, func(a, b *Formula) int {
		return cmp.Or(cmp.Compare(a.topic, b.topic), cmp.Compare(a.name, b.name))
	})
	return all
}

func (f *Formula) prepare() {
	if f.name == "" || f.topic == "" || f.description == "" || f.source == "" || f.work == nil || len(f.results) == 0 {
		panic(fmt.Sprintf("formula: %q is not declared completely", f.name))
	}
	f.message = &pb.Formula{
		Name: f.name, Description: f.description, Topic: f.topic, Source: f.source, Caution: f.caution,
	}
	for i := range f.inputs {
		in := &f.inputs[i]
		if f.find(in.name) != in {
			panic("formula: " + f.name + " declares the input " + in.name + " twice")
		}
		if in.unit != "" {
			in.resolved = quantity.MustUnit(in.unit)
		}
		f.message.Inputs = append(f.message.Inputs, &pb.FormulaInput{
			Name:        in.name,
			Description: in.what,
			Unit:        in.unit,
			Optional:    in.optional || in.fallback != "",
			DefaultText: in.fallback,
			Choices:     in.choices,
			Repeated:    in.repeated,
		})
	}
	for i := range f.results {
		r := &f.results[i]
		if r.unit != "" {
			r.resolved = quantity.MustUnit(r.unit)
		}
		f.message.Results = append(f.message.Results, &pb.FormulaResult{
			Name: r.name, Description: r.what, Unit: r.unit,
		})
	}
}
