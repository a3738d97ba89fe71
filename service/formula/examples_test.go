package formula

import (
	"bytes"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"go.yaml.in/yaml/v3"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// example is one entry of testdata/examples.yaml.
type example struct {
	Formula string            `yaml:"formula"`
	Source  string            `yaml:"source"`
	Inputs  map[string]string `yaml:"inputs"`
	Results map[string]wish   `yaml:"results"`
}

// wish is what a result is to be: a number, a text or both.
type wish struct {
	Want      *float64 `yaml:"want"`
	Within    float64  `yaml:"within"`
	Unit      string   `yaml:"unit"`
	Text      string   `yaml:"text"`
	Published string   `yaml:"published"`
}

func examples(t testing.TB) []example {
	t.Helper()
	data, err := os.ReadFile("testdata/examples.yaml")
	if err != nil {
		t.Fatal(err)
	}
	decoder := yaml.NewDecoder(bytes.NewReader(data))
	decoder.KnownFields(true)
	var all []example
	if err := decoder.Decode(&all); err != nil {
		t.Fatal(err)
	}
	return all
}

func calculate(t testing.TB, name string, inputs map[string]string, units quantity.System) *pb.Calculation {
	t.Helper()
	f, err := Find(name)
	if err != nil {
		t.Fatal(err)
	}
	c, err := f.Calculate(inputs, units)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// named returns the value of that name, or nil.
func named(values []*pb.CalculatedValue, name string) *pb.CalculatedValue {
	for _, v := range values {
		if v.GetName() == name {
			return v
		}
	}
	return nil
}

func TestExamples(t *testing.T) {
	rows := publishedRows(t)
	for i, e := range examples(t) {
		t.Run(e.Formula+"/"+strconv.Itoa(i), func(t *testing.T) {
			if e.Source == "" {
				t.Error("the example names no source")
			}
			c := calculate(t, e.Formula, e.Inputs, quantity.Metric)
			for name, w := range e.Results {
				got := named(c.GetResults(), name)
				if got == nil {
					t.Errorf("no result %s in %v", name, c.GetResults())
					continue
				}
				w.compare(t, got)
				if w.Published != "" {
					row, ok := rows[w.Published]
					if !ok {
						t.Errorf("%s: no published row %q", name, w.Published)
					} else if want := w.number(); want != row {
						t.Errorf("%s: the example wants %v, the published figure is %v", name, want, row)
					}
				}
			}
		})
	}
}

// number is the wish as the published table has it, where 1 stands for yes.
func (w wish) number() float64 {
	switch {
	case w.Want != nil:
		return *w.Want
	case w.Text == "yes":
		return 1
	case w.Text == "no":
		return 0
	}
	return math.NaN()
}

func (w wish) compare(t *testing.T, got *pb.CalculatedValue) {
	t.Helper()
	if w.Text != "" && got.GetText() != w.Text {
		t.Errorf("%s reads %q, want %q", got.GetName(), got.GetText(), w.Text)
	}
	if w.Want == nil {
		if w.Text == "" {
			t.Errorf("%s: the example wants nothing", got.GetName())
		}
		return
	}
	v := got.GetValue()
	if w.Unit != "" {
		to, err := quantity.ParseUnit(w.Unit)
		if err != nil {
			t.Fatal(err)
		}
		v = inUnitOf(t, got, to)
	} else if f := got.GetUnit(); f == "" {
		t.Errorf("%s is the text %q, want a number", got.GetName(), got.GetText())
	}
	if !(math.Abs(v-*w.Want) <= w.Within) {
		t.Errorf("%s = %.9g, want %.9g ± %.3g", got.GetName(), v, *w.Want, w.Within)
	}
}

// isSpan says whether a result is a difference of whatever is measured.
func isSpan(name string) bool {
	return strings.HasSuffix(name, "uncertainty") || name == "guard_band" || name == "shortfall"
}

func inUnitOf(t *testing.T, got *pb.CalculatedValue, to quantity.Unit) float64 {
	t.Helper()
	from, err := quantity.ParseUnit(got.GetUnit())
	if err != nil {
		t.Fatal(err)
	}
	convert := from.Convert
	if isSpan(got.GetName()) {
		convert = from.ConvertDifference
	}
	v, err := convert(got.GetValue(), to)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// publishedRows reads the figures that package workshop is checked against, by
// "function: case".
func publishedRows(t *testing.T) map[string]float64 {
	t.Helper()
	data, err := os.ReadFile("../workshop/testdata/published.md")
	if err != nil {
		t.Fatal(err)
	}
	rows := make(map[string]float64)
	for line := range strings.Lines(string(data)) {
		cells := strings.Split(line, "|")
		if len(cells) < 5 {
			continue
		}
		want, err := strconv.ParseFloat(strings.TrimSpace(cells[3]), 64)
		if err != nil {
			continue // the heading
		}
		rows[strings.TrimSpace(cells[1])+": "+strings.TrimSpace(cells[2])] = want
	}
	if len(rows) < 100 {
		t.Fatalf("read %d rows of the published table", len(rows))
	}
	return rows
}

func TestEveryFormulaHasAnExample(t *testing.T) {
	have := make(map[string]bool)
	for _, e := range examples(t) {
		have[e.Formula] = true
	}
	for _, f := range All() {
		if !have[f.Name()] {
			t.Errorf("%s has no example in testdata/examples.yaml", f.Name())
		}
	}
}
