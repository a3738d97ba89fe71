package jobplan_test

import (
	"testing"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/formula"
	"github.com/snapgauge/snapgauge/service/jobplan"
)

// What a plan says it was computed by can be looked up and worked out again.
func TestFormulasAreInTheCatalogue(t *testing.T) {
	at := jobplan.Request{
		AsOf:    time.Date(2026, 7, 1, 0, 0, 0, 0, time.UTC),
		Rider:   &pb.Rider{MassKg: 94, GearMassKg: 11},
		Ambient: &pb.Ambient{TemperatureC: 6, AltitudeM: 900, HumidityPercent: 50},
	}
	seen := 0
	for _, rev := range []string{scree, gannet} {
		for number := range 2 {
			plan := make1(t, revision(t, rev, number+1), at)
			for _, c := range plan.GetCalculations() {
				seen++
				if _, err := formula.Find(c.GetFormula()); err != nil {
					t.Errorf("%s: %v", rev, err)
				}
			}
		}
	}
	if seen < 12 {
		t.Errorf("only %d calculations seen", seen)
	}
}
