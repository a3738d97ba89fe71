package server

import (
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/specs"
)

func stepIDs(plan *pb.JobPlan) string {
	var ids []string
	for _, s := range plan.GetSteps() {
		ids = append(ids, s.GetCharacteristic())
	}
	return strings.Join(ids, " ")
}

func TestPlanSetup(t *testing.T) {
	b := newBench(t)
	later := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	for name, tc := range map[string]struct {
		req      *pb.PlanSetupRequest
		revision string
		asOf     time.Time
	}{
		"model as people say it": {&pb.PlanSetupRequest{Model: "rill"}, "specs/rill-125-2026-eu/revisions/1", testNow},
		"typing error":           {&pb.PlanSetupRequest{Model: "Rlil 125"}, "specs/rill-125-2026-eu/revisions/1", testNow},
		"year and market":        {&pb.PlanSetupRequest{Model: "rill", ModelYear: 2026, Market: "NZ"}, "specs/rill-125-2026-nz/revisions/1", testNow},
		"spec":                   {&pb.PlanSetupRequest{Model: "rill-125-2026-jp"}, "specs/rill-125-2026-jp/revisions/1", testNow},
		"later":                  {&pb.PlanSetupRequest{Model: "rill", AsOfTime: timestamppb.New(later)}, "specs/rill-125-2026-eu/revisions/2", later},
		"VIN in groups":          {&pb.PlanSetupRequest{Model: "rill", Vin: "0vb-RL0000-T1 000123"}, "specs/rill-125-2026-eu/revisions/1", testNow},
	} {
		t.Run(name, func(t *testing.T) {
			resp, err := b.setups.PlanSetup(t.Context(), tc.req)
			if err != nil {
				t.Fatal(err)
			}
			plan := resp.GetPlan()
			if plan.GetSpecRevision() != tc.revision || len(plan.GetDigest()) != 64 || !plan.GetInvented() {
				t.Errorf("got %s with digest %q, want %s", plan.GetSpecRevision(), plan.GetDigest(), tc.revision)
			}
			if !plan.GetAsOfTime().AsTime().Equal(tc.asOf) {
				t.Errorf("got as of %v, want %v", plan.GetAsOfTime().AsTime(), tc.asOf)
			}
			if plan.GetPhase() != pb.Phase_PHASE_PRE_DELIVERY {
				t.Errorf("got phase %v, want pre-delivery unless another is asked for", plan.GetPhase())
			}
			if got := " " + stepIDs(plan) + " "; !strings.Contains(got, " chain_slack ") || strings.Contains(got, "hand_guard") ||
				strings.Index(got, "chain_slack") > strings.Index(got, "rear_axle_nut") {
				t.Errorf("got steps %s, want the chain before the axle and no hand guards", got)
			}
		})
	}
}

// A bulletin holds for some units: the plan needs the VIN to know of it.
func TestPlanSetupHeedsBulletins(t *testing.T) {
	b := newBench(t, withSheets(specs.FS))
	req := &pb.PlanSetupRequest{
		Model: "scree", ModelYear: 2026, Market: "EU",
		AsOfTime: timestamppb.New(time.Date(2026, 7, 1, 0, 0, 0, 0, time.UTC)),
	}
	without, err := b.setups.PlanSetup(t.Context(), req)
	if err != nil {
		t.Fatal(err)
	}
	const clip = "clutch_cable_clip" // of bulletin n26_03
	if got := stepIDs(without.GetPlan()); strings.Contains(got, clip) {
		t.Errorf("without a VIN got %s, want no bulletin for some units", got)
	}
	for vin, want := range map[string]bool{"0VST2EA10TA000239": false, "0VST2EA10TA000240": true} {
		req.Vin = vin
		resp, err := b.setups.PlanSetup(t.Context(), req)
		if err != nil {
			t.Fatal(err)
		}
		if got := stepIDs(resp.GetPlan()); strings.Contains(got, clip) != want {
			t.Errorf("%s: got steps %s, want the clip: %v", vin, got, want)
		}
	}
}

func TestPlanSetupComputes(t *testing.T) {
	b := newBench(t, withSheets(specs.FS))
	req := &pb.PlanSetupRequest{
		Model: "scree", Market: "EU", AsOfTime: timestamppb.New(time.Date(2026, 7, 1, 0, 0, 0, 0, time.UTC)),
		Rider:       &pb.Rider{MassKg: 82, GearMassKg: 11},
		Ambient:     &pb.Ambient{TemperatureC: 5, AltitudeM: 900, HumidityPercent: 60},
		IntendedUse: pb.IntendedUse_INTENDED_USE_ENDURO,
	}
	metric, err := b.setups.PlanSetup(t.Context(), req)
	if err != nil {
		t.Fatal(err)
	}
	formulas := map[string]bool{}
	for _, c := range metric.GetPlan().GetCalculations() {
		formulas[c.GetFormula()] = true
	}
	for _, want := range []string{"spring-for-sag", "tyre-pressure", "main-jet"} {
		if !formulas[want] {
			t.Errorf("got calculations %v, want %s", formulas, want)
		}
	}
	req.UnitSystem = pb.UnitSystem_UNIT_SYSTEM_US
	us, err := b.setups.PlanSetup(t.Context(), req)
	if err != nil {
		t.Fatal(err)
	}
	texts := func(resp *pb.PlanSetupResponse) (all string) {
		for _, s := range resp.GetPlan().GetSteps() {
			all += s.GetTargetText() + "\n"
		}
		return all
	}
	if got := texts(metric); !strings.Contains(got, "N·m") || strings.Contains(got, "psi") {
		t.Errorf("got %s, want metric units", got)
	}
	if got := texts(us); strings.Contains(got, "N·m") || !strings.Contains(got, "psi") {
		t.Errorf("got %s, want US units", got)
	}
}

// plansRefused are plans that cannot be made, for whatever they are wanted.
func plansRefused() map[string]struct {
	req           *pb.PlanSetupRequest
	code          codes.Code
	reason, field string
} {
	early := timestamppb.New(time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC))
	return map[string]struct {
		req           *pb.PlanSetupRequest
		code          codes.Code
		reason, field string
	}{
		"without model":     {&pb.PlanSetupRequest{}, codes.InvalidArgument, "required", "model"},
		"unknown model":     {&pb.PlanSetupRequest{Model: "zzzzzzzzzz"}, codes.NotFound, reasonSpecNotFound, ""},
		"unknown year":      {&pb.PlanSetupRequest{Model: "rill", ModelYear: 2011}, codes.NotFound, reasonSpecNotFound, ""},
		"unknown market":    {&pb.PlanSetupRequest{Model: "rill", Market: "BR"}, codes.NotFound, reasonSpecNotFound, ""},
		"market shape":      {&pb.PlanSetupRequest{Model: "rill", Market: "eu"}, codes.InvalidArgument, "string.pattern", "market"},
		"before its time":   {&pb.PlanSetupRequest{Model: "rill", AsOfTime: early}, codes.FailedPrecondition, reasonNoRevisionInForce, ""},
		"not yet":           {&pb.PlanSetupRequest{Model: "brook-250-2027-eu"}, codes.FailedPrecondition, reasonNoRevisionInForce, ""},
		"time that is none": {&pb.PlanSetupRequest{Model: "rill", AsOfTime: &timestamppb.Timestamp{Nanos: -1}}, codes.InvalidArgument, reasonTimeInvalid, "as_of_time"},
		"short VIN":         {&pb.PlanSetupRequest{Model: "rill", Vin: "0VBRL"}, codes.InvalidArgument, reasonVINInvalid, "vin"},
		"letter O in VIN":   {&pb.PlanSetupRequest{Model: "rill", Vin: "OVBRL0000T1000123"}, codes.InvalidArgument, reasonVINInvalid, "vin"},
		"long VIN":          {&pb.PlanSetupRequest{Model: "rill", Vin: strings.Repeat("0", 33)}, codes.InvalidArgument, "string.max_len", "vin"},
		"phase":             {&pb.PlanSetupRequest{Model: "rill", Phase: 99}, codes.InvalidArgument, "enum.defined_only", "phase"},
		"use":               {&pb.PlanSetupRequest{Model: "rill", IntendedUse: 99}, codes.InvalidArgument, "enum.defined_only", "intended_use"},
		"rider":             {&pb.PlanSetupRequest{Model: "rill", Rider: &pb.Rider{MassKg: 8}}, codes.InvalidArgument, "double.gte_lte", "rider.mass_kg"},
		"air":               {&pb.PlanSetupRequest{Model: "rill", Ambient: &pb.Ambient{TemperatureC: 300}}, codes.InvalidArgument, "double.gte_lte", "ambient.temperature_c"},
		"option shape":      {&pb.PlanSetupRequest{Model: "rill", Options: []string{"Hand guards"}}, codes.InvalidArgument, "string.pattern", "options[0]"},
		"unknown option":    {&pb.PlanSetupRequest{Model: "rill", Options: []string{"hand_guards", "wings"}}, codes.InvalidArgument, reasonOptionUnknown, "options[1]"},
		"option alone":      {&pb.PlanSetupRequest{Model: "rill", Options: []string{"heated_guards"}}, codes.InvalidArgument, reasonOptionRequires, "options[0]"},
		"options at odds": {&pb.PlanSetupRequest{Model: "rill", Options: []string{"bar_muffs", "hand_guards", "heated_guards"}},
			codes.InvalidArgument, reasonOptionConflict, "options[2]"},
	}
}

func TestPlanSetupRefused(t *testing.T) {
	b := newBench(t)
	for name, tc := range plansRefused() {
		t.Run(name, func(t *testing.T) {
			_, err := b.setups.PlanSetup(t.Context(), tc.req)
			wantStatus(t, err, tc.code, tc.reason, tc.field)
		})
	}
}

// The sheet in the library is as it was after planning by it.
func TestPlanSetupLeavesTheLibraryAlone(t *testing.T) {
	b := newBench(t)
	revision := b.revision(t, "rill-125-2026-eu", 1)
	before := proto.CloneOf(revision.Sheet())
	if _, err := b.setups.PlanSetup(t.Context(), &pb.PlanSetupRequest{Model: "rill", Options: []string{"hand_guards"}}); err != nil {
		t.Fatal(err)
	}
	if !proto.Equal(before, revision.Sheet()) {
		t.Error("the sheet was modified")
	}
}
