package jobplan_test

import (
	"os"
	"slices"
	"sync"
	"testing"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/jobplan"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
)

var demo = sync.OnceValues(func() ([]*spec.Revision, error) { return spec.Load(os.DirFS("../../specs")) })

// revisions returns every revision of the demo sheets.
func revisions(t *testing.T) []*spec.Revision {
	t.Helper()
	revs, err := demo()
	if err != nil {
		t.Fatal(err)
	}
	return revs
}

func revision(t *testing.T, id string, number int) *spec.Revision {
	t.Helper()
	for _, r := range revisions(t) {
		if r.SpecID() == id && r.Number() == number {
			return r
		}
	}
	t.Fatalf("there is no %s revision %d", id, number)
	return nil
}

const (
	scree25  = "varnholt-scree-200i-2025-eu"
	scree    = "varnholt-scree-200i-2026-eu"
	gannet   = "brannick-gannet-300x-2026-eu"
	heron25  = "brannick-heron-350f-2025-eu"
	heron    = "brannick-heron-350f-2026-eu"
	glade    = "kestwick-glade-e-2026-eu"
	causeway = "ulverdale-causeway-400-2026-us"
)

var day = time.Date(2026, 7, 1, 8, 0, 0, 0, time.UTC)

func rider(mass, gear float64) *pb.Rider { return &pb.Rider{MassKg: mass, GearMassKg: gear} }

func air(temperature, altitude, humidity float64) *pb.Ambient {
	return &pb.Ambient{TemperatureC: temperature, AltitudeM: altitude, HumidityPercent: humidity}
}

func make1(t *testing.T, rev *spec.Revision, req jobplan.Request) *pb.JobPlan {
	t.Helper()
	plan, err := jobplan.Make(rev, req)
	if err != nil {
		t.Fatal(err)
	}
	return plan
}

func stepOf(t *testing.T, plan *pb.JobPlan, id string) *pb.PlanStep {
	t.Helper()
	i := slices.IndexFunc(plan.GetSteps(), func(s *pb.PlanStep) bool { return s.GetCharacteristic() == id })
	if i < 0 {
		t.Fatalf("%s is no step of the plan", id)
	}
	return plan.GetSteps()[i]
}

func calculations(plan *pb.JobPlan, formula string) []*pb.Calculation {
	var found []*pb.Calculation
	for _, c := range plan.GetCalculations() {
		if c.GetFormula() == formula {
			found = append(found, c)
		}
	}
	return found
}

func calculation(t *testing.T, plan *pb.JobPlan, formula string) *pb.Calculation {
	t.Helper()
	found := calculations(plan, formula)
	if len(found) != 1 {
		t.Fatalf("got %d calculations %s, want 1; cautions: %q", len(found), formula, plan.GetCautions())
	}
	return found[0]
}

func result(t *testing.T, c *pb.Calculation, name string) *pb.CalculatedValue {
	t.Helper()
	for _, v := range c.GetResults() {
		if v.GetName() == name {
			return v
		}
	}
	t.Fatalf("%s has no result %s", c.GetFormula(), name)
	return nil
}

var bothSystems = []quantity.System{quantity.Metric, quantity.USCustomary}
