package formula

import (
	"errors"
	"regexp"
	"slices"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"

	"github.com/snapgauge/snapgauge/service/quantity"
)

var (
	kebab = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)
	snake = regexp.MustCompile(`^[a-z0-9]+(_[a-z0-9]+)*$`)
)

func TestDeclarations(t *testing.T) {
	for _, f := range All() {
		p := f.Proto()
		if !kebab.MatchString(p.GetName()) {
			t.Errorf("%s: the name is not words joined by hyphens", p.GetName())
		}
		if !strings.HasSuffix(p.GetDescription(), ".") {
			t.Errorf("%s: the description is no sentence: %q", p.GetName(), p.GetDescription())
		}
		if len(p.GetInputs()) == 0 || len(p.GetResults()) == 0 {
			t.Errorf("%s takes or gives nothing", p.GetName())
		}
		for _, in := range p.GetInputs() {
			if !snake.MatchString(in.GetName()) {
				t.Errorf("%s: the input %s is not words joined by underscores", p.GetName(), in.GetName())
			}
			if in.GetDescription() == "" || strings.HasSuffix(in.GetDescription(), ".") {
				t.Errorf("%s: the input %s needs a description without a full stop", p.GetName(), in.GetName())
			}
			checkUnit(t, p.GetName(), in.GetUnit())
		}
		seen := make(map[string]bool)
		for _, r := range p.GetResults() {
			if !snake.MatchString(r.GetName()) || r.GetDescription() == "" || seen[r.GetName()] {
				t.Errorf("%s: the result %q is not well declared", p.GetName(), r.GetName())
			}
			seen[r.GetName()] = true
			checkUnit(t, p.GetName(), r.GetUnit())
		}
	}
}

func checkUnit(t *testing.T, formula, code string) {
	t.Helper()
	if code == "" {
		return
	}
	if u, err := quantity.ParseUnit(code); err != nil || u.Code() != code {
		t.Errorf("%s: %q is no UCUM code of the registry", formula, code)
	}
}

// TestDefaults reads every default as its input would.
func TestDefaults(t *testing.T) {
	for _, f := range All() {
		for i := range f.inputs {
			in := &f.inputs[i]
			if in.fallback == "" {
				continue
			}
			if _, problem := in.understand(in.fallback); problem != "" {
				t.Errorf("%s: the default of %s %s", f.name, in.name, problem)
			}
		}
	}
}

func TestCautionsWhereAMistakeHurts(t *testing.T) {
	for _, f := range All() {
		hurts := slices.Contains([]string{"torque tools", "tyres", "battery"}, f.topic) ||
			slices.ContainsFunc([]string{"brake", "premix", "oil-suits", "proof", "preload", "jet", "coolant", "axle"}, func(word string) bool {
				return strings.Contains(f.name, word) && f.topic != "suspension"
			})
		if hurts && f.caution == "" {
			t.Errorf("%s has no caution", f.name)
		}
	}
}

func TestAllIsSortedAndACopy(t *testing.T) {
	all := All()
	if !slices.IsSortedFunc(all, func(a, b *Formula) int {
		return strings.Compare(a.topic+"\x00"+a.name, b.topic+"\x00"+b.name)
	}) {
		t.Error("the formulas are not by topic and name")
	}
	all[0] = nil
	if All()[0] == nil {
		t.Error("changing the slice changed the catalogue")
	}
	f := All()[0]
	before := f.Proto()
	changed := f.Proto()
	changed.Inputs[0].Name = "changed"
	if !proto.Equal(before, f.Proto()) {
		t.Error("changing a message changed the catalogue")
	}
}

func TestFind(t *testing.T) {
	for _, f := range All() {
		if got, err := Find(f.Name()); err != nil || got != f {
			t.Errorf("Find(%q) = %v, %v", f.Name(), got, err)
		}
	}
	for _, c := range []struct {
		name string
		want string // the first suggestion
	}{
		{"wrench-seting", "wrench-setting"},
		{"Wrench-Setting", "wrench-setting"},
		{"premix", "premix-dose"},
		{"jet main", "main-jet"},
		{"xyzzy", ""},
		{"", ""},
		{strings.Repeat("a", 10_000), ""},
	} {
		_, err := Find(c.name)
		var unknown *UnknownError
		if !errors.As(err, &unknown) || unknown.Name != c.name {
			t.Errorf("Find(%.20q): %v", c.name, err)
			continue
		}
		got := append(unknown.Suggestions, "")[0]
		if got != c.want || len(unknown.Suggestions) > maxSuggestions {
			t.Errorf("Find(%.20q) suggests %q, want %q first", c.name, unknown.Suggestions, c.want)
		}
		if len(unknown.Error()) > 300 || c.want != "" && !strings.Contains(unknown.Error(), c.want) {
			t.Errorf("Find(%.20q): %v", c.name, err)
		}
	}
}
