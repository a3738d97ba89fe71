package sheet

import (
	"fmt"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// A plan of many steps of many heights, with words that say where each begins
// and ends.
const (
	longSteps   = 90
	longPlace   = 7 // steps in a place
	longMachine = "Longmaker Verylong, 2026, US"
)

func stepBegins(i int) string  { return fmt.Sprintf("Nameofstep%03d", i) }
func stepEnds(i int) string    { return fmt.Sprintf("Endofstep%03d", i) }
func placeBegins(i int) string { return fmt.Sprintf("Place%03d", i/longPlace) }

func longPlan() *pb.JobPlan {
	plan := &pb.JobPlan{Machine: longMachine, Phase: pb.Phase_PHASE_SERVICE}
	for i := range longSteps {
		plan.Steps = append(plan.Steps, &pb.PlanStep{
			Number:      int32(i + 1),
			DisplayName: stepBegins(i),
			Place:       placeBegins(i),
			TargetText:  "12 mm (10 to 14 mm)",
			Target:      &pb.DualQuantity{MetricValue: 12, MetricUnit: "mm", UsValue: 0.47, UsUnit: "[in_i]"},
			Method:      strings.Repeat("Turn it until it rests and then a little further. ", i*7%6),
			Caution:     "Beware of the pinch. " + stepEnds(i),
		})
	}
	return plan
}
