package options_test

import (
	"slices"
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/options"
)

func TestLegality(t *testing.T) {
	sheet := &pb.SpecSheet{Options: []*pb.Option{
		{Id: "race_kit", OffHighwayOnly: true, EmissionsRelated: true},
		{Id: "bar_pad"},
		{Id: "open_pipe", EmissionsRelated: true},
	}}
	ids := func(list []*pb.Option) (ids []string) {
		for _, o := range list {
			ids = append(ids, o.GetId())
		}
		return ids
	}
	off, emissions := options.Legality(sheet, []string{"open_pipe", "unknown", "bar_pad", "race_kit"})
	if got := ids(off); !slices.Equal(got, []string{"race_kit"}) {
		t.Errorf("off-highway only: got %v", got)
	}
	if got := ids(emissions); !slices.Equal(got, []string{"race_kit", "open_pipe"}) {
		t.Errorf("emissions: got %v", got)
	}
	if off, emissions := options.Legality(sheet, []string{"bar_pad"}); off != nil || emissions != nil {
		t.Errorf("a pad: got %v and %v", ids(off), ids(emissions))
	}
}
