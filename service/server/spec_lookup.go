package server

import (
	"context"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/spec"
)

// LookUpCharacteristics ignores options that the sheet does not know: a person
// who asks what the drain bolt is wants to be told.
func (s *specService) LookUpCharacteristics(ctx context.Context, req *pb.LookUpCharacteristicsRequest) (*pb.LookUpCharacteristicsResponse, error) {
	number, err := readVIN("vin", req.GetVin())
	if err != nil {
		return nil, err
	}
	asOf := s.asOf(req.GetAsOfTime())
	revision, _, err := s.sheets.seek(ctx, catalogue.Query{
		Model:     req.GetModel(),
		ModelYear: int(req.GetModelYear()),
		Market:    req.GetMarket(),
		VIN:       number,
		AsOf:      asOf,
	})
	if err != nil {
		return nil, err
	}
	matches, err := revision.LookUp(spec.Query{
		Words:   req.GetWords(),
		Options: req.GetOptions(),
		VIN:     number,
		AsOf:    asOf,
		Max:     int(req.GetMaxResults()),
	})
	if err != nil {
		return nil, err
	}
	history, err := s.sheets.live.History(revision.SpecID())
	if err != nil {
		return nil, err
	}
	head, err := s.sheets.live.ByNumber(revision.SpecID(), revision.Number())
	if err != nil {
		return nil, err
	}
	resp := &pb.LookUpCharacteristicsResponse{
		Spec:         specOf(history[0]),
		SpecRevision: revisionOf(head),
		Matches:      make([]*pb.CharacteristicMatch, len(matches)),
	}
	for i, m := range matches {
		resp.Matches[i] = m.Proto()
	}
	return resp, nil
}
