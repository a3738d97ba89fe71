package server

import (
	"context"
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/options"
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
	return &pb.CheckOptionsResponse{
		Troubles: options.Explain(sheet, req.GetOptions()),
		Cautions: cautionsOf(sheet, req.GetOptions()),
	}, nil
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
		text := o.GetDisplayName() + ":"
		if slices.Contains(offHighway, o) {
			text += " for off-highway use only."
		}
		if slices.Contains(emissions, o) {
			text += " touches emissions or noise."
		}
		if o.GetCaution() != "" {
			text += " " + o.GetCaution()
		}
		if text != o.GetDisplayName()+":" {
			cautions = append(cautions, text)
		}
	}
	return cautions
}
