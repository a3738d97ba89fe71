package main

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func TestPlan(t *testing.T) {
	f := newFake(t)
	_, out, _ := f.cli(t, "plan", "causeway", "--phase", "first-service")
	want := `Ulverdale Causeway 400, 2026, US: first service, 1 step
sheet revision 2, as of 2026-05-04

FASTENERS
1  Oil drain bolt                                                         DAMAGE
   20 N·m (18 to 22 N·m)
   tool: 17 mm socket
   caution: Hot oil burns: gloves.

TOOLS
  17 mm socket
`
	if diff := cmp.Diff(want, out); diff != "" {
		t.Errorf("standard output (-want +got):\n%s", diff)
	}
	if _, out, _ = f.cli(t, "plan", "causeway", "--full"); !strings.Contains(out, "how: Let the oil run out.") {
		t.Errorf("--full does not say how:\n%s", out)
	}
}

func TestPlanAsks(t *testing.T) {
	f := newFake(t)
	for _, test := range []struct {
		args []string
		want *pb.PlanSetupRequest
	}{
		{nil, &pb.PlanSetupRequest{}},
		{
			[]string{
				"--year", "2026", "--market", "us", "--option", "big_tank", "--vin", "0ULCW4DS7T0000123", "--phase", "handover",
				"--rider", "82+11", "--temperature", "-5", "--altitude", "900", "--humidity", "60", "--use", "enduro",
				"--as-of", "2026-05-04T09:00:00Z", "--units", "us",
			},
			&pb.PlanSetupRequest{
				ModelYear: 2026, Market: "US", Options: []string{"big_tank"}, Vin: "0ULCW4DS7T0000123", Phase: pb.Phase_PHASE_HANDOVER,
				Rider:       &pb.Rider{MassKg: 82, GearMassKg: 11},
				Ambient:     &pb.Ambient{TemperatureC: -5, AltitudeM: 900, HumidityPercent: 60},
				IntendedUse: pb.IntendedUse_INTENDED_USE_ENDURO,
				AsOfTime:    timestamppb.New(testTime), UnitSystem: pb.UnitSystem_UNIT_SYSTEM_US,
			},
		},
		// Humidity nought is not humidity left out.
		{[]string{"--temperature", "20"}, &pb.PlanSetupRequest{Ambient: &pb.Ambient{TemperatureC: 20, HumidityPercent: 50}}},
		{[]string{"--temperature", "0", "--humidity", "0"}, &pb.PlanSetupRequest{Ambient: &pb.Ambient{}}},
		{[]string{"--rider", "82"}, &pb.PlanSetupRequest{Rider: &pb.Rider{MassKg: 82}}},
	} {
		want := test.want
		want.Model = "causeway"
		if want.Phase == 0 {
			want.Phase = pb.Phase_PHASE_PRE_DELIVERY
		}
		if want.UnitSystem == 0 {
			want.UnitSystem = pb.UnitSystem_UNIT_SYSTEM_METRIC
		}
		if code, _, errs := f.cli(t, append([]string{"plan", "causeway"}, test.args...)...); code != 0 {
			t.Fatalf("%v: exit code %d: %s", test.args, code, errs)
		}
		if !proto.Equal(f.plan, want) {
			t.Errorf("%v: asked %v, want %v", test.args, f.plan, want)
		}
		// A sheet is asked for in the same words.
		if code, _, errs := f.cli(t, append([]string{"sheet", "job", "causeway", "--out", "-"}, test.args...)...); code != 0 {
			t.Fatalf("%v: exit code %d: %s", test.args, code, errs)
		}
		if !proto.Equal(f.render.GetPlan(), want) {
			t.Errorf("sheet %v: asked %v, want %v", test.args, f.render.GetPlan(), want)
		}
	}
}
