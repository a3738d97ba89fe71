package gauge_test

import (
	"errors"
	"strings"
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
)

// A sheet that cannot be judged by is refused when it is compiled, with the path
// of every fault.
func TestCompileRefuses(t *testing.T) {
	rule := func(expression string) *pb.Rule {
		return &pb.Rule{
			Id: "r", Expression: expression, Message: "m", Remedy: "r",
			Severity: pb.Severity_SEVERITY_FUNCTION, Source: "Handbook 1",
		}
	}
	for _, tc := range []struct {
		name string
		edit func(*pb.SpecSheet)
		want []string
	}{
		{"syntax", func(s *pb.SpecSheet) { s.Rules[0].Expression = "fuel_fill >=" }, []string{"rules[0]", "Syntax error"}},
		{"unknown characteristic", func(s *pb.SpecSheet) { s.Rules[0].Expression = "fuel_fil > 1.0" }, []string{"rules[0]", "fuel_fil"}},
		{"types", func(s *pb.SpecSheet) { s.Rules[0].Expression = `fuel_tap > 1.0` }, []string{"rules[0]", "no matching overload"}},
		{"not a truth", func(s *pb.SpecSheet) { s.Rules[0].Expression = `fuel_fill + 1.0` }, []string{"rules[0]", "want bool"}},
		{"says nothing", func(s *pb.SpecSheet) { s.Rules[0].Expression = `1 < 2` }, []string{"rules[0]", "uses nothing of the record"}},
		{"in an option", func(s *pb.SpecSheet) {
			s.Options[1].Amendment.AddRules = []*pb.Rule{rule("nothing > 1")}
		}, []string{"options[1].amendment.add_rules[0]", "nothing"}},
		{"two at once", func(s *pb.SpecSheet) {
			s.Rules[0].Expression = "fuel_fil > 1.0"
			s.Rules = append(s.Rules, rule("fuel_tap > 1"))
		}, []string{"rules[0]", "rules[1]"}},
		{"an example that disagrees", func(s *pb.SpecSheet) {
			example := readCase(t, "testdata/cases/safe_level.yaml")
			example.Expectation = &pb.Expectation{
				Verdict: pb.Verdict_VERDICT_ACCEPT,
				Codes:   []pb.FindingCode{pb.FindingCode_FINDING_CODE_WRONG_COUNT},
			}
			s.Examples = append(s.Examples, example)
		}, []string{"examples[0]", "verdict REJECT, expected ACCEPT", "unexpected FILL_ABOVE_SAFE_LEVEL", "expected WRONG_COUNT, not found"}},
		{"an example that cannot be judged", func(s *pb.SpecSheet) {
			example := readCase(t, "testdata/cases/safe_level.yaml")
			example.Readings[0].Unit = "kPa"
			s.Examples = append(s.Examples, example)
		}, []string{"examples[0]", "readings[0].unit"}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			sheet := readSheet(t, "testdata/sheet.yaml")
			tc.edit(sheet)
			rev, err := spec.NewRevision(sheet)
			if err != nil {
				t.Fatal(err)
			}
			_, err = gauge.Compile(rev)
			var bad *spec.SheetError
			if !errors.As(err, &bad) {
				t.Fatalf("got %v, want a SheetError", err)
			}
			for _, want := range tc.want {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("%v\ndoes not say %q", err, want)
				}
			}
		})
	}
}

// A rule that would run for ever is cut short, and that is neither the machine's
// fault nor the technician's.
func TestRuleCostIsBounded(t *testing.T) {
	sheet := readSheet(t, "testdata/sheet.yaml")
	loop := "[1,2,3,4,5,6,7,8,9,10]"
	for range 4 {
		loop = "[1,2,3,4,5,6,7,8,9,10].map(x, " + loop + ")"
	}
	sheet.Rules[0].Expression = "fuel_fill > 0.0 && size(" + loop + ") > 0"
	rec := readCase(t, "testdata/cases/rule_not_decided.yaml")
	report, err := compile(t, sheet).Gauge(rec, optionsFor(rec, quantity.Metric))
	var broke *gauge.EvalError
	if !errors.As(err, &broke) || broke.Rule != "reserve_when_low" {
		t.Fatalf("got %v, want an EvalError of the rule", err)
	}
	if report.GetVerdict() != pb.Verdict_VERDICT_REFER || report.GetFindings()[0].GetCode() != pb.FindingCode_FINDING_CODE_RULE_NOT_DECIDED {
		t.Errorf("got %v, want REFER for a rule that a person must decide", report)
	}
}

// The decision follows the sheet's guard band multiplier: JCGM 106:2012, 8.3.2,
// w = r U, with r = 0 being simple acceptance.
func TestGuardBandMultiplier(t *testing.T) {
	rec := readCase(t, "testdata/cases/undecided.yaml") // 4.9 mm of at most 5, U = 0.3 mm
	for _, tc := range []struct {
		r    float64
		want pb.Verdict
	}{
		{0, pb.Verdict_VERDICT_ACCEPT},
		{0.25, pb.Verdict_VERDICT_ACCEPT},
		{0.5, pb.Verdict_VERDICT_REFER},
		{1, pb.Verdict_VERDICT_REFER},
	} {
		sheet := readSheet(t, "testdata/sheet.yaml")
		sheet.GuardBandMultiplier = &tc.r
		report, err := compile(t, sheet).Gauge(rec, optionsFor(rec, quantity.Metric))
		if err != nil {
			t.Fatal(err)
		}
		if report.GetVerdict() != tc.want {
			t.Errorf("r = %g: got %v, want %v", tc.r, report.GetVerdict(), tc.want)
		}
	}
}

// A fill that may be above the safe level is not accepted for being inside the
// limits.
func TestGuardedSafeFill(t *testing.T) {
	sheet := readSheet(t, "testdata/sheet.yaml")
	for _, c := range sheet.Characteristics {
		if c.Id == "oil_tank_fill" {
			c.DecisionRule = pb.DecisionRule_DECISION_RULE_GUARDED_ACCEPTANCE
			c.Limits.Upper = c.GetCapacity().SafeFill
		}
	}
	rec := readCase(t, "testdata/cases/above_upper.yaml") // 490 mL, safe up to 500
	rec.Readings[0].ExpandedUncertainty = new(20.0)
	report, err := compile(t, sheet).Gauge(rec, optionsFor(rec, quantity.Metric))
	if err != nil {
		t.Fatal(err)
	}
	if report.GetVerdict() != pb.Verdict_VERDICT_REFER || report.GetFindings()[0].GetLimit().GetMetricValue() != 500 {
		t.Errorf("got %v, want REFER against 500 mL", report)
	}
}

// Every option set beyond the bound still gets its plan.
func TestPlanCacheIsBounded(t *testing.T) {
	engine := testEngine(t)
	rec := readCase(t, "testdata/cases/option_unknown.yaml")
	for i := range 600 {
		rec.Options = []string{"kit_" + strings.Repeat("x", i%60) + string(rune('a'+i%26)) + string(rune('a'+i/26%26))}
		report, err := engine.Gauge(rec, optionsFor(rec, quantity.Metric))
		if err != nil || report.GetVerdict() != pb.Verdict_VERDICT_REJECT {
			t.Fatal(report, err)
		}
	}
}
