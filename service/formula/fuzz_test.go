package formula

import (
	"errors"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"google.golang.org/protobuf/proto"

	"github.com/snapgauge/snapgauge/service/quantity"
)

// FuzzCalculate gives any formula any inputs. It wants an answer of finite
// numbers that can be sent, or an error that names an input: never a panic, and
// never an error that could not be laid at an input's door.
func FuzzCalculate(f *testing.F) {
	all := All()
	place := make(map[string]int)
	for i, formula := range all {
		place[formula.Name()] = i
		f.Add(uint8(i), "", "", "", "", "", "", "", "", "")
	}
	for _, e := range examples(f) {
		i := place[e.Formula]
		texts := make([]string, fuzzedInputs)
		for k := range all[i].inputs {
			if k < len(texts) {
				texts[k] = e.Inputs[all[i].inputs[k].name]
			}
		}
		f.Add(uint8(i), texts[0], texts[1], texts[2], texts[3], texts[4], texts[5], texts[6], texts[7], texts[8])
	}
	for _, text := range []string{"1e308", "-0", "1:0", "NaN", "½", "1,2,3", "0: 1,2; 3: 4,5", "¼,¼ in", "8 x", ":", ";", "0/0", "1 ratio"} {
		for i := range all {
			f.Add(uint8(i), text, text, text, text, text, text, text, text, text)
		}
	}
	f.Fuzz(func(t *testing.T, n uint8, a, b, c, d, e, g, h, i, j string) {
		formula := all[int(n)%len(all)]
		inputs := make(map[string]string)
		for k, text := range []string{a, b, c, d, e, g, h, i, j} {
			if k < len(formula.inputs) {
				inputs[formula.inputs[k].name] = text
			}
		}
		for k := fuzzedInputs; k < len(formula.inputs); k++ {
			inputs[formula.inputs[k].name] = a
		}
		for _, units := range []quantity.System{quantity.Metric, quantity.USCustomary} {
			checkAnswer(t, formula, inputs, units)
		}
	})
}

// fuzzedInputs is how many inputs the fuzzer chooses by themselves.
const fuzzedInputs = 9

func checkAnswer(t *testing.T, f *Formula, inputs map[string]string, units quantity.System) {
	t.Helper()
	c, err := f.Calculate(inputs, units)
	if err != nil {
		var bad *InputErrors
		if !errors.As(err, &bad) || c != nil || len(bad.Errors) == 0 {
			t.Fatalf("%s(%q): %v, %v", f.Name(), inputs, c, err)
		}
		for _, e := range bad.Errors {
			if f.find(e.Input) == nil || e.Message == "" || !utf8.ValidString(e.Message) {
				t.Fatalf("%s(%q): %q", f.Name(), inputs, e)
			}
		}
		return
	}
	for _, v := range append(c.GetInputs(), c.GetResults()...) {
		if math.IsNaN(v.GetValue()) || math.IsInf(v.GetValue(), 0) || strings.TrimSpace(v.GetText()) == "" {
			t.Fatalf("%s(%q): %v", f.Name(), inputs, v)
		}
	}
	if _, err := proto.Marshal(c); err != nil {
		t.Fatalf("%s(%q): %v", f.Name(), inputs, err)
	}
}

// TestEmptyInputs gives every formula nothing.
func TestEmptyInputs(t *testing.T) {
	for _, f := range All() {
		c, err := f.Calculate(nil, quantity.Metric)
		var bad *InputErrors
		if c != nil || !errors.As(err, &bad) {
			t.Errorf("%s without inputs: %v, %v", f.Name(), c, err)
		}
	}
}
