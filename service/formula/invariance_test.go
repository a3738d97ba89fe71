package formula

import (
	"math"
	"strconv"
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// TestUnitInvariance writes every number of every example in every other unit of
// its dimension and wants the same results.
func TestUnitInvariance(t *testing.T) {
	rewritten := 0
	for _, e := range examples(t) {
		f, err := Find(e.Formula)
		if err != nil {
			t.Fatal(err)
		}
		want := calculate(t, e.Formula, e.Inputs, quantity.Metric)
		for i := range f.inputs {
			in := &f.inputs[i]
			if !in.isNumber() || in.repeated || in.mix || e.Inputs[in.name] == "" || governs(t, f, in, e) {
				continue
			}
			for _, text := range spellings(t, f, in, e) {
				inputs := make(map[string]string)
				for name, given := range e.Inputs {
					inputs[name] = given
				}
				inputs[in.name] = text
				got, err := f.Calculate(inputs, quantity.Metric)
				if err != nil {
					t.Errorf("%s with %s = %q for %q: %v", e.Formula, in.name, text, e.Inputs[in.name], err)
					continue
				}
				rewritten++
				sameResults(t, e.Formula+" with "+in.name+" = "+text, want.GetResults(), got.GetResults(), 1e-7)
			}
		}
	}
	if rewritten < 500 {
		t.Errorf("only %d spellings were tried", rewritten)
	}
}

// governs says whether other inputs of the example are without a unit and take
// that of this one, or whether it is read as another thing in another unit: then
// it may not be rewritten alone.
func governs(t *testing.T, f *Formula, in *input, e example) bool {
	t.Helper()
	if in.exact {
		return e.Inputs["difference"] == "yes"
	}
	for i := range f.inputs {
		other := &f.inputs[i]
		text := e.Inputs[other.name]
		if in.group == "" || other.group != in.group || other == in || text == "" {
			continue
		}
		if q, err := quantity.Parse(text); err != nil || q.Unit == plainNumber {
			return true
		}
	}
	return false
}

// spellings writes an input of an example in the units of its dimension.
func spellings(t *testing.T, f *Formula, in *input, e example) []string {
	t.Helper()
	args, err := f.understand(e.Inputs)
	if err != nil {
		t.Fatal(err)
	}
	arg := args.byName[in.name]
	var all []string
	for _, u := range quantity.Units() {
		if u.Dimension() != arg.unit.Dimension() {
			continue
		}
		convert := arg.unit.Convert
		if in.span {
			convert = arg.unit.ConvertDifference
		}
		v, err := convert(arg.values[0], u)
		if err != nil {
			t.Fatal(err)
		}
		name := u.Code()
		if u == plainNumber {
			name = "ratio"
		}
		all = append(all, strconv.FormatFloat(v, 'g', 17, 64)+" "+name)
	}
	return all
}

func sameResults(t *testing.T, what string, want, got []*pb.CalculatedValue, within float64) {
	t.Helper()
	if len(want) != len(got) {
		t.Errorf("%s gave %d results, want %d", what, len(got), len(want))
		return
	}
	for i, w := range want {
		g := got[i]
		if w.GetName() != g.GetName() || (w.GetUnit() == "") != (g.GetUnit() == "") {
			t.Errorf("%s gave %v, want %v", what, g, w)
			continue
		}
		if w.GetUnit() == "" {
			if w.GetText() != g.GetText() {
				t.Errorf("%s: %s = %q, want %q", what, g.GetName(), g.GetText(), w.GetText())
			}
			continue
		}
		// Where the caller chooses the unit, the result may be in another one.
		to, err := quantity.ParseUnit(w.GetUnit())
		if err != nil {
			t.Fatal(err)
		}
		v := inUnitOf(t, g, to)
		if !(math.Abs(v-w.GetValue()) <= within*max(1, math.Abs(w.GetValue()))) {
			t.Errorf("%s: %s = %.12g, want %.12g", what, g.GetName(), v, w.GetValue())
		}
	}
}

// TestSystemsOfUnits wants the numbers of an answer to be the same in every
// system, and every text of an input to be readable as that input: with what was
// rounded in it, the results stay within a thousandth.
func TestSystemsOfUnits(t *testing.T) {
	for _, e := range examples(t) {
		metric := calculate(t, e.Formula, e.Inputs, quantity.Metric)
		customary := calculate(t, e.Formula, e.Inputs, quantity.USCustomary)
		for i, m := range metric.GetResults() {
			c := customary.GetResults()[i]
			if m.GetValue() != c.GetValue() || m.GetUnit() != c.GetUnit() || c.GetText() == "" {
				t.Errorf("%s: %v in metric, %v in US customary units", e.Formula, m, c)
			}
		}
		again := make(map[string]string)
		for _, in := range metric.GetInputs() {
			again[in.GetName()] = in.GetText()
		}
		f, err := Find(e.Formula)
		if err != nil {
			t.Fatal(err)
		}
		got, err := f.Calculate(again, quantity.Metric)
		if err != nil {
			t.Errorf("%s does not read its own inputs %v: %v", e.Formula, again, err)
			continue
		}
		sameResults(t, e.Formula+" from its own inputs", metric.GetResults(), got.GetResults(), 1e-3)
	}
}
