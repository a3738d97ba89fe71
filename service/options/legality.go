package options

import (
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Legality gives the fitted options that make a unit off-highway only in the
// sheet's market, and those that touch emissions or noise, each in the order of
// the sheet. An option can be both. Options that the sheet does not know are
// passed by. What the law of a place makes of them is in their cautions, and is
// for that law to say.
func Legality(sheet *pb.SpecSheet, fitted []string) (offHighway, emissions []*pb.Option) {
	for _, o := range sheet.GetOptions() {
		if !slices.Contains(fitted, o.GetId()) {
			continue
		}
		if o.GetOffHighwayOnly() {
			offHighway = append(offHighway, o)
		}
		if o.GetEmissionsRelated() {
			emissions = append(emissions, o)
		}
	}
	return offHighway, emissions
}
