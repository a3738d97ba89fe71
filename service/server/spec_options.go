package server

import (
	"context"
	"slices"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/options"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// CheckOptions answers for any set of options; those that the sheet does not know
// are one more trouble. Beside the cautions of the options stands what the law
// makes of them.
func (s *specService) CheckOptions(ctx context.Context, req *pb.CheckOptionsRequest) (*pb.CheckOptionsResponse, error) {
	revision, err := s.sheets.named(ctx, req.GetName())
	if err != nil {
		return nil, err
	}
	sheet := revision.Sheet()
	offHighway, emissions := options.Legality(sheet, req.GetOptions())
	return &pb.CheckOptionsResponse{
		Troubles:          options.Explain(sheet, req.GetOptions()),
		Cautions:          cautionsOf(sheet, req.GetOptions()),
		OffHighwayOptions: idsOf(offHighway),
		EmissionsOptions:  idsOf(emissions),
	}, nil
}

func idsOf(of []*pb.Option) []string {
	ids := make([]string, len(of))
	for i, o := range of {
		ids[i] = o.GetId()
	}
	return ids
}

// cautionsOf gives the cautions of the options fitted, in the order of the sheet,
// each with the option's name.
func cautionsOf(sheet *pb.SpecSheet, fitted []string) []string {
	offHighway, emissions := options.Legality(sheet, fitted)
	var cautions []string
	for _, o := range sheet.GetOptions() {
		if !slices.Contains(fitted, o.GetId()) {
			continue
		}
		var said []string
		if slices.Contains(offHighway, o) {
			said = append(said, "For off-highway use only.")
		}
		if slices.Contains(emissions, o) {
			said = append(said, "Touches emissions or noise.")
		}
		if o.GetCaution() != "" {
			said = append(said, phrase.Stop(o.GetCaution()))
		}
		if len(said) > 0 {
			cautions = append(cautions, o.GetDisplayName()+": "+strings.Join(said, " "))
		}
	}
	return cautions
}
