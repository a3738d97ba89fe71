package render

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func readPlan(t *testing.T) Planned {
	t.Helper()
	j := Planned{Request: new(pb.PlanSetupRequest), Plan: new(pb.JobPlan)}
	read(t, "plan", j.Plan)
	read(t, "planrequest", j.Request)
	return j
}

func TestPlanGolden(t *testing.T) {
	j := readPlan(t)
	for _, look := range looks {
		t.Run(look.name, func(t *testing.T) {
			got := Plan(j, look.options)
			golden(t, "plan-"+look.name, got)
			fits(t, got, look.options.Width)
		})
	}
	j.Full = true
	got := Plan(j, looks[0].options)
	golden(t, "plan-full", got)
	fits(t, got, looks[0].options.Width)
}

// What was not asked for is not spoken of.
func TestPlanWithoutRiderAndAir(t *testing.T) {
	got := Plan(Planned{
		Request: new(pb.PlanSetupRequest),
		Plan:    &pb.JobPlan{Machine: "Ulverdale Causeway 400, 2026, US", Phase: pb.Phase_PHASE_SERVICE, Steps: []*pb.PlanStep{{Number: 1, DisplayName: "Seat"}}},
	}, looks[0].options)
	if want := "Ulverdale Causeway 400, 2026, US: service, 1 step\n"; !strings.HasPrefix(got, want) {
		t.Errorf("got %q, want %q first", got, want)
	}
	for _, absent := range []string{"rider", "air", "TOOLS", "CONSUMABLES", "COMPUTED", "invented"} {
		if strings.Contains(got, absent) {
			t.Errorf("speaks of %s:\n%s", absent, got)
		}
	}
}

func TestFormulaGolden(t *testing.T) {
	all := new(pb.ListFormulasResponse)
	read(t, "formulas", all)
	calculation := new(pb.Calculation)
	read(t, "calculation", calculation)
	for _, look := range looks {
		t.Run(look.name, func(t *testing.T) {
			text := Formulas(all.GetFormulas(), look.options)
			for _, f := range all.GetFormulas() {
				text += "-\n" + Formula(f, look.options)
			}
			text += "-\n" + Calculation(calculation, look.options)
			golden(t, "formulas-"+look.name, text)
			fits(t, text, look.options.Width)
		})
	}
}

func TestColourOnlyRepeatsInJobs(t *testing.T) {
	j := readPlan(t)
	all := new(pb.ListFormulasResponse)
	read(t, "formulas", all)
	calculation := new(pb.Calculation)
	read(t, "calculation", calculation)
	for name, write := range map[string]func(Options) string{
		"plan":        func(o Options) string { return Plan(j, o) },
		"formulas":    func(o Options) string { return Formulas(all.GetFormulas(), o) },
		"formula":     func(o Options) string { return Formula(all.GetFormulas()[2], o) },
		"calculation": func(o Options) string { return Calculation(calculation, o) },
	} {
		plain, coloured := write(Options{Width: 80}), write(Options{Width: 80, Ink: true})
		if strings.Contains(plain, "\x1b") {
			t.Errorf("%s: escape sequence in plain text", name)
		}
		if plain == coloured {
			t.Errorf("%s: no colour in coloured text", name)
		}
		if got := decolour(coloured); got != plain {
			t.Errorf("%s: differs without its colour:\n%s", name, cmp.Diff(plain, got))
		}
	}
}

func TestInColumns(t *testing.T) {
	for width, want := range map[int]string{
		12: "  a    e\n  bb   f\n  ccc  g\n  d\n",
		13: "  a    e\n  bb   f\n  ccc  g\n  d\n",
		5:  "  a\n  bb\n  ccc\n  d\n  e\n  f\n  g\n",
		40: "  a    bb   ccc  d    e    f    g\n",
	} {
		p := Options{Width: width}.page()
		inColumns(p, 2, []string{"a", "bb", "ccc", "d", "e", "f", "g"})
		if p.String() != want {
			t.Errorf("width %d: got %q, want %q", width, p.String(), want)
		}
	}
}

func TestStepNumbers(t *testing.T) {
	for _, test := range []struct {
		numbers []int32
		want    string
	}{
		{nil, ""}, {[]int32{3}, "step 3"}, {[]int32{3, 4}, "steps 3 and 4"}, {[]int32{3, 4, 7}, "steps 3, 4 and 7"},
	} {
		if got := stepNumbers(test.numbers); got != test.want {
			t.Errorf("%v: got %q, want %q", test.numbers, got, test.want)
		}
	}
}
