package server

import (
	"context"
	"errors"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/jobplan"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/vin"
)

// PlanSetup touches no store of set-ups.
func (s *setupService) PlanSetup(ctx context.Context, req *pb.PlanSetupRequest) (*pb.PlanSetupResponse, error) {
	p, err := s.plan(ctx, "", req, system(req.GetUnitSystem()))
	if err != nil {
		return nil, err
	}
	return &pb.PlanSetupResponse{Plan: p.plan}, nil
}

// planned is a plan with what it was made from.
type planned struct {
	plan     *pb.JobPlan
	revision *spec.Revision
	resolved *spec.Resolved
	vin      vin.VIN // empty where it is not known
}

// plan works out the job that is asked for. Its errors speak of the fields of
// the request with prefix before them, which is where in a larger request it
// stands.
func (s *setupService) plan(ctx context.Context, prefix string, req *pb.PlanSetupRequest, units quantity.System) (planned, error) {
	number, err := readVIN(prefix+"vin", req.GetVin())
	if err != nil {
		return planned{}, err
	}
	asOf := s.now().UTC()
	if req.AsOfTime != nil {
		asOf = instantOf(req.GetAsOfTime())
	}
	revision, _, err := s.sheets.seek(ctx, catalogue.Query{
		Model:     req.GetModel(),
		ModelYear: int(req.GetModelYear()),
		Market:    req.GetMarket(),
		VIN:       number,
		AsOf:      asOf,
	})
	if err != nil {
		return planned{}, err
	}
	p, err := newPlan(revision, jobplan.Request{
		Phase:   req.GetPhase(),
		Options: req.GetOptions(),
		VIN:     number,
		Rider:   req.GetRider(),
		Ambient: req.GetAmbient(),
		Use:     req.GetIntendedUse(),
		AsOf:    asOf,
		Units:   units,
	})
	var misfit *jobplan.RequestError
	if errors.As(err, &misfit) {
		if wrong := ofPlan(revision, prefix+"options", req.GetOptions(), misfit); len(wrong) > 0 {
			return planned{}, &fieldError{wrong}
		}
	}
	return p, err
}

// newPlan plans by one revision. The errors are those of [jobplan.Make].
func newPlan(revision *spec.Revision, req jobplan.Request) (planned, error) {
	plan, err := jobplan.Make(revision, req)
	if err != nil {
		return planned{}, err
	}
	resolved, err := revision.Resolve(req.Options, revision.Bulletins(req.VIN, req.AsOf))
	if err != nil {
		return planned{}, err
	}
	return planned{plan: plan, revision: revision, resolved: resolved, vin: req.VIN}, nil
}

// ofPlan gives what is wrong with the options of a plan. That a phase does not
// exist is left out: the contract's constraints do not let one through.
func ofPlan(revision *spec.Revision, field string, options []string, e *jobplan.RequestError) []violation {
	return atOdds(revision.Sheet(), field, options, e.Unknown, e.Conflicting, e.Missing)
}
