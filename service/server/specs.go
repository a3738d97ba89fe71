package server

import (
	"context"
	"errors"
	"strconv"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
)

// specService answers from the library in use. Its answers share messages with
// the library, which nobody modifies.
type specService struct {
	pb.UnimplementedSpecServiceServer
	judge *Judge
	now   func() time.Time
}

// LookUpCharacteristics ignores options that the sheet does not know: a person
// who asks what the drain bolt is wants to be told.
func (s *specService) LookUpCharacteristics(_ context.Context, req *pb.LookUpCharacteristicsRequest) (*pb.LookUpCharacteristicsResponse, error) {
	library := s.judge.Catalogue().Library()
	revision, matches, err := library.LookUp(spec.Query{
		Model:     req.GetModel(),
		ModelYear: int(req.GetModelYear()),
		Market:    req.GetMarket(),
		Words:     req.GetWords(),
		Options:   req.GetOptions(),
		AsOf:      s.asOf(req.GetAsOfTime()),
		Max:       int(req.GetMaxResults()),
	})
	if err != nil {
		return nil, err
	}
	summary, err := specOf(library, revision.SpecID())
	if err != nil {
		return nil, err
	}
	resp := &pb.LookUpCharacteristicsResponse{
		Spec:         summary,
		SpecRevision: revision.Proto(),
		Matches:      make([]*pb.CharacteristicMatch, len(matches)),
	}
	for i, m := range matches {
		resp.Matches[i] = &pb.CharacteristicMatch{Characteristic: m.Characteristic, Score: m.Score}
	}
	return resp, nil
}

// asOf is the instant that a request asks about: now unless it says otherwise.
func (s *specService) asOf(asked *timestamppb.Timestamp) time.Time {
	if asked == nil {
		return s.now().UTC()
	}
	return asked.AsTime()
}

// specOf describes a spec by its newest revision.
func specOf(library *spec.Library, specID string) (*pb.Spec, error) {
	revisions, err := library.Revisions(specID)
	if err != nil {
		return nil, err
	}
	newest := revisions[0]
	sheet := newest.Sheet()
	return &pb.Spec{
		Name:           newest.SpecName(),
		Make:           sheet.GetMake(),
		Model:          sheet.GetModel(),
		ModelYear:      sheet.GetModelYear(),
		Market:         sheet.GetMarket(),
		Description:    sheet.GetDescription(),
		Invented:       sheet.GetInvented(),
		LatestRevision: newest.Proto(),
		ModelAliases:   sheet.GetModelAliases(),
	}, nil
}

// parseSpecName reads specs/{spec} and specs/{spec}/revisions/{revision}, whose
// shape has been validated. Without a revision the number is nought.
func parseSpecName(name string) (specID string, number int, err error) {
	specID, revision, named := strings.Cut(strings.TrimPrefix(name, "specs/"), "/revisions/")
	if !named {
		return specID, 0, nil
	}
	number, err = strconv.Atoi(revision)
	if err != nil || number < 1 {
		return "", 0, errors.New("not the name of a revision: " + name)
	}
	return specID, number, nil
}
