package jobplan_test

import (
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
	"github.com/snapgauge/snapgauge/service/internal/golden"
	"github.com/snapgauge/snapgauge/service/jobplan"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
)

// The plans as a whole, so that no change of them goes unseen.
func TestGolden(t *testing.T) {
	for name, test := range map[string]struct {
		rev *spec.Revision
		req jobplan.Request
	}{
		"scree_pre_delivery": {
			rev: revision(t, scree, 3),
			req: jobplan.Request{
				Phase:   pb.Phase_PHASE_PRE_DELIVERY,
				Options: []string{"hand_guards"},
				VIN:     "0VST2E0X0TA000300",
				Rider:   rider(96, 9),
				Ambient: air(6, 900, 70),
				Use:     pb.IntendedUse_INTENDED_USE_TRAIL,
				AsOf:    day,
			},
		},
		"gannet_first_service_us": {
			rev: revision(t, gannet, 2),
			req: jobplan.Request{
				Phase:   pb.Phase_PHASE_FIRST_SERVICE,
				Options: []string{"free_flow_silencer"},
				Rider:   rider(72, 8),
				Ambient: air(31, 1500, 40),
				Use:     pb.IntendedUse_INTENDED_USE_ENDURO,
				AsOf:    day,
				Units:   quantity.USCustomary,
			},
		},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := document.Encode(make1(t, test.rev, test.req))
			if err != nil {
				t.Fatal(err)
			}
			golden.Check(t, "testdata/"+name+".yaml", got)
		})
	}
}
