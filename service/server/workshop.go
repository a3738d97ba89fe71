package server

import (
	"context"
	"errors"
	"fmt"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/formula"
)

// workshopService answers from the catalogue of formulas. It keeps nothing and
// touches neither sheets nor the store.
type workshopService struct {
	pb.UnimplementedWorkshopServiceServer
}

// ListFormulas gives them in the catalogue's order.
func (*workshopService) ListFormulas(context.Context, *pb.ListFormulasRequest) (*pb.ListFormulasResponse, error) {
	all := formula.All()
	resp := &pb.ListFormulasResponse{Formulas: make([]*pb.Formula, len(all))}
	for i, f := range all {
		resp.Formulas[i] = f.Proto()
	}
	return resp, nil
}

// Calculate works out one formula.
func (*workshopService) Calculate(_ context.Context, req *pb.CalculateRequest) (*pb.CalculateResponse, error) {
	f, err := formula.Find(req.GetFormula())
	if err != nil {
		return nil, err
	}
	calculation, err := f.Calculate(req.GetInputs(), system(req.GetUnitSystem()))
	var bad *formula.InputErrors
	if errors.As(err, &bad) {
		return nil, &fieldError{ofInputs(f.Proto(), req.GetInputs(), bad)}
	}
	if err != nil {
		return nil, err
	}
	return &pb.CalculateResponse{Calculation: calculation}, nil
}

// ofInputs gives what is wrong with the inputs of a formula as violations of
// the request. An input that was left out and has no default is missing,
// whatever else is said of it; all other faults are of what was written.
func ofInputs(f *pb.Formula, given map[string]string, e *formula.InputErrors) []violation {
	declared := make(map[string]*pb.FormulaInput, len(f.GetInputs()))
	for _, in := range f.GetInputs() {
		declared[in.GetName()] = in
	}
	violations := make([]violation, len(e.Errors))
	for i, fault := range e.Errors {
		reason := reasonInputInvalid
		in, known := declared[fault.Input]
		switch {
		case !known:
			reason = reasonInputUnknown
		case strings.TrimSpace(given[fault.Input]) == "" && in.GetDefaultText() == "":
			reason = reasonInputMissing
		}
		violations[i] = violation{fmt.Sprintf("inputs[%q]", fault.Input), reason, fault.Message}
	}
	return violations
}
