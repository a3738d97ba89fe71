package server

import (
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/formula"
)

func TestListFormulas(t *testing.T) {
	b := newBench(t)
	resp, err := b.workshop.ListFormulas(t.Context(), &pb.ListFormulasRequest{})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := len(resp.GetFormulas()), len(formula.All()); got != want {
		t.Errorf("got %d formulas, want %d", got, want)
	}
	before := ""
	for _, f := range resp.GetFormulas() {
		if f.GetName() == "" || f.GetTopic() == "" || f.GetDescription() == "" || f.GetSource() == "" || len(f.GetResults()) == 0 {
			t.Errorf("got %v, want name, topic, description, source and results", f)
		}
		if key := f.GetTopic() + "\n" + f.GetName(); key <= before {
			t.Errorf("%s is out of order", f.GetName())
		} else {
			before = key
		}
	}
}

func TestCalculate(t *testing.T) {
	b := newBench(t)
	req := &pb.CalculateRequest{Formula: "premix-dose", Inputs: map[string]string{"fuel": "5 L", "ratio": "1:50"}}
	resp, err := b.workshop.Calculate(t.Context(), req)
	if err != nil {
		t.Fatal(err)
	}
	c := resp.GetCalculation()
	if c.GetFormula() != "premix-dose" || c.GetSource() == "" || c.GetCaution() == "" || len(c.GetInputs()) != 2 || len(c.GetResults()) != 1 {
		t.Fatalf("got %v", c)
	}
	if r := c.GetResults()[0]; r.GetName() != "oil" || r.GetValue() != 100 || r.GetUnit() != "mL" || r.GetText() != "100 mL" {
		t.Errorf("got result %v, want 100 mL of oil", r)
	}
	req.UnitSystem = pb.UnitSystem_UNIT_SYSTEM_US
	if resp, err = b.workshop.Calculate(t.Context(), req); err != nil {
		t.Fatal(err)
	}
	if r := resp.GetCalculation().GetResults()[0]; r.GetValue() != 100 || !strings.HasSuffix(r.GetText(), "fl oz") {
		t.Errorf("got result %v, want its text in fluid ounces", r)
	}
}

func TestCalculateRefused(t *testing.T) {
	b := newBench(t)
	type inputs = map[string]string
	for name, tc := range map[string]struct {
		formula       string
		inputs        inputs
		code          codes.Code
		reason, field string
	}{
		"without a formula": {"", nil, codes.InvalidArgument, "required", "formula"},
		"name too long":     {strings.Repeat("x", 65), nil, codes.InvalidArgument, "string.max_len", "formula"},
		"unknown formula":   {"premix-dosis", nil, codes.NotFound, reasonFormulaNotFound, ""},
		"missing":           {"premix-dose", inputs{"fuel": "5 L"}, codes.InvalidArgument, reasonInputMissing, `inputs["ratio"]`},
		"empty":             {"premix-dose", inputs{"fuel": "5 L", "ratio": " "}, codes.InvalidArgument, reasonInputMissing, `inputs["ratio"]`},
		"unknown input":     {"premix-dose", inputs{"fuel": "5 L", "ratio": "50", "oil": "1 L"}, codes.InvalidArgument, reasonInputUnknown, `inputs["oil"]`},
		"odd input name":    {"premix-dose", inputs{"fuel": "5 L", "ratio": "50", "a\"]\n": "1"}, codes.InvalidArgument, reasonInputUnknown, `inputs["a\"]\n"]`},
		"no quantity":       {"premix-dose", inputs{"fuel": "much", "ratio": "50"}, codes.InvalidArgument, reasonInputInvalid, `inputs["fuel"]`},
		"wrong dimension":   {"premix-dose", inputs{"fuel": "5 kPa", "ratio": "50"}, codes.InvalidArgument, reasonInputInvalid, `inputs["fuel"]`},
		"impossible":        {"premix-dose", inputs{"fuel": "-5 L", "ratio": "50"}, codes.InvalidArgument, reasonInputInvalid, `inputs["fuel"]`},
		"NaN":               {"premix-dose", inputs{"fuel": "NaN", "ratio": "50"}, codes.InvalidArgument, reasonInputInvalid, `inputs["fuel"]`},
		"not one of the choices": {"brake-fluids-mix", inputs{"grade": "DOT 3", "other": "DOT 9"},
			codes.InvalidArgument, reasonInputInvalid, `inputs["other"]`},
		"value too long": {"premix-dose", inputs{"fuel": strings.Repeat("5", 4097), "ratio": "50"},
			codes.InvalidArgument, "string.max_len", `inputs["fuel"]`},
		"unit system": {"premix-dose", inputs{}, codes.InvalidArgument, "enum.defined_only", "unit_system"},
	} {
		t.Run(name, func(t *testing.T) {
			req := &pb.CalculateRequest{Formula: tc.formula, Inputs: tc.inputs}
			if name == "unit system" {
				req.UnitSystem = 9
			}
			_, err := b.workshop.Calculate(t.Context(), req)
			wantStatus(t, err, tc.code, tc.reason, tc.field)
		})
	}
}

// All that is wrong with the inputs is told at once.
func TestCalculateTellsEveryFault(t *testing.T) {
	b := newBench(t)
	_, err := b.workshop.Calculate(t.Context(), &pb.CalculateRequest{
		Formula: "premix-dose", Inputs: map[string]string{"fuel": "5 kPa", "fule": "5 L"},
	})
	wantStatus(t, err, codes.InvalidArgument, reasonInputInvalid, `inputs["fuel"]`)
	wantStatus(t, err, codes.InvalidArgument, reasonInputMissing, `inputs["ratio"]`)
	wantStatus(t, err, codes.InvalidArgument, reasonInputUnknown, `inputs["fule"]`)
}

func TestUnknownFormulaSuggests(t *testing.T) {
	b := newBench(t)
	_, err := b.workshop.Calculate(t.Context(), &pb.CalculateRequest{Formula: "premix-dosis"})
	st := wantStatus(t, err, codes.NotFound, reasonFormulaNotFound, "")
	info := st.Details()[0].(*errdetails.ErrorInfo)
	if got := info.GetMetadata(); got["asked"] != "premix-dosis" || !strings.HasPrefix(got["suggestions"], "premix-dose") ||
		!strings.Contains(st.Message(), "premix-dose") {
		t.Errorf("got %q with %v, want what was asked and the near name", st.Message(), got)
	}
}

// Every formula answers a call with no inputs, with a result or with what is
// missing, and none breaks the service.
func TestEveryFormulaAnswers(t *testing.T) {
	b := newBench(t)
	for _, f := range formula.All() {
		_, err := b.workshop.Calculate(t.Context(), &pb.CalculateRequest{Formula: f.Name()})
		if err != nil {
			wantStatus(t, err, codes.InvalidArgument, "", "")
		}
	}
}
