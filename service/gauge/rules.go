package gauge

import (
	"errors"
	"maps"
	"slices"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/types/ref"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/spec"
)

// ruleCostLimit bounds the work of one rule on one record, in CEL's own cost
// units. The longest sensible rule costs a few hundred.
const ruleCostLimit = 10_000

// Variables that are not characteristics.
const (
	varOptions = "options"
	varPhase   = "phase"
	varHours   = "hours"
)

// rule is a compiled rule of a sheet.
type rule struct {
	r       *pb.Rule
	program cel.Program
	// partial decides as far as can be when some of what it needs was not read.
	partial cel.Program
	// needs are the characteristics that the expression uses, sorted.
	needs []string
	// needsHours says that it uses the running hours.
	needsHours bool
}

// ruleKey tells rules apart: an option may take a rule away and put another of
// the same identifier in its place.
type ruleKey struct{ id, expression string }

func keyOf(r *pb.Rule) ruleKey { return ruleKey{r.GetId(), r.GetExpression()} }

// compileRules compiles every rule that can come to hold under any option or
// bulletin. All see the same variables: every characteristic the sheet can
// have.
func compileRules(sheet *pb.SpecSheet) (map[ruleKey]*rule, error) {
	var bad problems
	types := map[string]*cel.Type{
		varOptions: cel.ListType(cel.StringType),
		varPhase:   cel.StringType,
		varHours:   cel.DoubleType,
	}
	characteristics := map[string]bool{}
	for path, c := range everyCharacteristic(sheet) {
		t := celType(c)
		if t == nil {
			continue // an override that leaves the kind alone
		}
		if before, ok := types[c.GetId()]; ok {
			if !before.IsExactType(t) {
				bad.add(path, "characteristic %q: a rule would see it as %s here and as %s elsewhere", c.GetId(), t, before)
			}
			continue
		}
		types[c.GetId()] = t
		characteristics[c.GetId()] = true
	}
	opts := []cel.EnvOption{
		cel.CrossTypeNumericComparisons(true),
		cel.ParserExpressionSizeLimit(2048),
	}
	for _, name := range slices.Sorted(maps.Keys(types)) {
		opts = append(opts, cel.Variable(name, types[name]))
	}
	env, err := cel.NewEnv(opts...)
	if err != nil {
		bad.add("rules", "%v", err)
		return nil, bad.err()
	}
	rules := map[ruleKey]*rule{}
	for path, r := range everyRule(sheet) {
		compiled, err := compileRule(env, r, characteristics)
		if err != nil {
			bad.add(path, "rule %q: %v", r.GetId(), err)
			continue
		}
		rules[keyOf(r)] = compiled
	}
	return rules, bad.err()
}

func compileRule(env *cel.Env, r *pb.Rule, characteristics map[string]bool) (*rule, error) {
	ast, issues := env.Compile(r.GetExpression())
	if issues != nil && issues.Err() != nil {
		return nil, issues.Err()
	}
	if !ast.OutputType().IsExactType(cel.BoolType) {
		return nil, errors.New("expression gives " + ast.OutputType().String() + ", want bool")
	}
	program, err := env.Program(ast, cel.CostLimit(ruleCostLimit))
	if err != nil {
		return nil, err
	}
	partial, err := env.Program(ast, cel.CostLimit(ruleCostLimit), cel.EvalOptions(cel.OptPartialEval))
	if err != nil {
		return nil, err
	}
	compiled := &rule{r: r, program: program, partial: partial}
	says := false
	for _, used := range ast.NativeRep().ReferenceMap() {
		switch {
		case characteristics[used.Name]:
			if !slices.Contains(compiled.needs, used.Name) {
				compiled.needs = append(compiled.needs, used.Name)
			}
		case used.Name == varHours:
			compiled.needsHours = true
		case used.Name != varOptions && used.Name != varPhase:
			continue
		}
		says = true
	}
	if !says {
		return nil, errors.New("expression uses nothing of the record, so it says nothing about it")
	}
	slices.Sort(compiled.needs)
	return compiled, nil
}

// celType is the type a rule sees a characteristic as, or nil for an override
// that does not say its kind.
func celType(c *pb.Characteristic) *cel.Type {
	switch c.GetKind().(type) {
	case *pb.Characteristic_Count:
		return cel.IntType
	case *pb.Characteristic_Inspection:
		return cel.BoolType
	case *pb.Characteristic_Choice, *pb.Characteristic_Identifier:
		return cel.StringType
	case nil:
		return nil
	default:
		return cel.DoubleType
	}
}

// everyAmendment yields the amendments of options and bulletins with their
// paths, in sheet order.
func everyAmendment(sheet *pb.SpecSheet) func(yield func(string, *pb.Amendment) bool) {
	return func(yield func(string, *pb.Amendment) bool) {
		for i, o := range sheet.GetOptions() {
			if !yield(pathOf("options", i)+".amendment", o.GetAmendment()) {
				return
			}
		}
		for i, b := range sheet.GetBulletins() {
			if !yield(pathOf("bulletins", i)+".amendment", b.GetAmendment()) {
				return
			}
		}
	}
}

func everyCharacteristic(sheet *pb.SpecSheet) func(yield func(string, *pb.Characteristic) bool) {
	return func(yield func(string, *pb.Characteristic) bool) {
		for i, c := range sheet.GetCharacteristics() {
			if !yield(pathOf("characteristics", i), c) {
				return
			}
		}
		for path, a := range everyAmendment(sheet) {
			for i, c := range a.GetAdd() {
				if !yield(path+"."+pathOf("add", i), c) {
					return
				}
			}
			for i, c := range a.GetOverride() {
				if !yield(path+"."+pathOf("override", i), c) {
					return
				}
			}
		}
	}
}

func everyRule(sheet *pb.SpecSheet) func(yield func(string, *pb.Rule) bool) {
	return func(yield func(string, *pb.Rule) bool) {
		for i, r := range sheet.GetRules() {
			if !yield(pathOf("rules", i), r) {
				return
			}
		}
		for path, a := range everyAmendment(sheet) {
			for i, r := range a.GetAddRules() {
				if !yield(path+"."+pathOf("add_rules", i), r) {
					return
				}
			}
		}
	}
}

// runRules evaluates the rules that hold in this phase. It returns the errors of
// those that failed, each of which has a finding as well: a fault of the sheet
// must not keep a technician from an answer.
func (r *run) runRules() error {
	var broke []error
	for _, rl := range r.plan.rules {
		if phases := rl.r.GetPhases(); len(phases) > 0 && !slices.Contains(phases, r.rec.GetPhase()) {
			continue
		}
		holds, known, err := r.evaluate(rl)
		switch {
		case err != nil:
			broke = append(broke, &EvalError{Revision: r.engine.rev.Name(), Rule: rl.r.GetId(), Err: err})
			f := r.ruleNotDecided(rl, "It failed on the values read; a person decides.")
			f.Effect = refer
		case !known:
			if lacking := r.lacking(rl); len(lacking) > 0 {
				r.ruleNotDecided(rl, "Not read: "+phrase.All(lacking)+".")
			}
		case !holds:
			r.ruleBroken(rl)
		}
	}
	return errors.Join(broke...)
}

// evaluate decides a rule; it is not known when what was not read decides it.
func (r *run) evaluate(rl *rule) (holds, known bool, err error) {
	var unknowns []*cel.AttributePatternType
	for _, id := range rl.needs {
		if !r.stands(id) {
			unknowns = append(unknowns, cel.AttributePattern(id))
		}
	}
	if rl.needsHours && r.rec.GetUnit().Hours == nil {
		unknowns = append(unknowns, cel.AttributePattern(varHours))
	}
	var out ref.Val
	if len(unknowns) == 0 {
		out, _, err = rl.program.Eval(activation{r})
	} else {
		var partial cel.PartialActivation
		if partial, err = cel.PartialVars(activation{r}, unknowns...); err == nil {
			out, _, err = rl.partial.Eval(partial)
		}
	}
	if err != nil {
		return false, false, err
	}
	holds, known = out.Value().(bool)
	return holds, known, nil
}

// lacking names what an undecided rule still needs from this record. It is empty
// when the record says nothing that the rule is about, and leaves out what other
// findings tell of and what an earlier record shows.
func (r *run) lacking(rl *rule) []string {
	var names []string
	touched := len(rl.needs) == 0
	for _, id := range rl.needs {
		i, there := r.plan.index[id]
		if !there {
			return nil // an option took away what the rule is about
		}
		ck := &r.plan.checks[i]
		switch {
		case r.slots[i].stands:
			touched = true
		case r.slots[i].reading != nil || ck.requiredIn[r.rec.GetPhase()] || ck.requiredBefore(r.rec.GetPhase()):
		default:
			names = append(names, ck.inSentence())
		}
	}
	if rl.needsHours && r.rec.GetUnit().Hours == nil {
		names = append(names, "the running hours")
	}
	if !touched {
		return nil
	}
	return names
}

// stands says whether the value of a characteristic is known.
func (r *run) stands(id string) bool {
	i, ok := r.plan.index[id]
	return ok && r.slots[i].stands
}

// activation lets CEL read the record's values where they lie.
type activation struct{ r *run }

// Parent says that there is no outer scope.
func (activation) Parent() cel.Activation { return nil }

// ResolveName gives the value of a variable.
func (a activation) ResolveName(name string) (any, bool) {
	switch name {
	case varOptions:
		return a.r.plan.resolved.Options, true
	case varPhase:
		return phrase.Name(a.r.rec.GetPhase()), true
	case varHours:
		return a.r.rec.GetUnit().GetHours(), true
	}
	i, ok := a.r.plan.index[name]
	if !ok {
		return nil, false
	}
	ck, s := &a.r.plan.checks[i], &a.r.slots[i]
	switch ck.kind {
	case count:
		return int64(s.value), true
	case inspection:
		return s.reading.GetPass(), true
	case choice:
		return ck.canonicalChoice(s.reading.GetChoice()), true
	case identifier:
		return s.reading.GetText(), true
	default:
		return s.value, true
	}
}

// canonicalChoice gives the sheet's own spelling of an accepted choice, and any
// other as it was written.
func (ck *check) canonicalChoice(seen string) string {
	for _, a := range ck.accepted {
		if spec.SameWord(a, seen) {
			return a
		}
	}
	return seen
}
