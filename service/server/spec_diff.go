package server

import (
	"context"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/specdiff"
)

// DiffSpecs compares any two sheets, also of different models.
func (s *specService) DiffSpecs(ctx context.Context, req *pb.DiffSpecsRequest) (*pb.DiffSpecsResponse, error) {
	base, err := s.sheets.named(ctx, req.GetBase())
	if err != nil {
		return nil, err
	}
	target, err := s.sheets.named(ctx, req.GetTarget())
	if err != nil {
		return nil, err
	}
	return &pb.DiffSpecsResponse{Diff: specdiff.Compare(base, target, system(req.GetUnitSystem()))}, nil
}
