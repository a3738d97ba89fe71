package specdiff_test

import (
	"slices"
	"testing"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/specdiff"
)

// Options, bulletins and rules that differ inside.
func TestItems(t *testing.T) {
	base := sheetOf(axleNut(nil), choice("C1"), screw(2, "circ"))
	base.Options = []*pb.Option{
		{Id: "kit", DisplayName: "Kit", Source: "Accessories 1", Excludes: []string{"rack"}, Amendment: &pb.Amendment{
			Add:      []*characteristic{fill(400, 480, 500, nil)},
			Override: []*characteristic{{Id: "damping_screw", Limits: limits(0, 1, "circ")}},
			Remove:   []string{"calibration"},
		}},
		{Id: "rack", DisplayName: "Rack", Source: "Accessories 2"},
	}
	base.Bulletins = []*pb.Bulletin{{
		Id: "b_1", Title: "Calibration: the second", Source: "Bulletin 1", EffectiveTime: base.GetEffectiveTime(),
		Amendment: &pb.Amendment{Override: []*characteristic{{Id: "calibration", Kind: choice("C2").GetKind()}}},
	}}
	base.Rules = []*pb.Rule{{
		Id: "nut_before_screw", Expression: "rear_axle_nut >= 73.0 || damping_screw < 1.0", Message: "The nut is too loose.",
		Remedy: "Tighten it.", Severity: pb.Severity_SEVERITY_DAMAGE, Source: "Handbook 9",
	}}
	for name, test := range map[string]struct {
		change func(*pb.SpecSheet)
		kind   pb.ChangeKind
		text   string
	}{
		"an override": {
			func(s *pb.SpecSheet) { s.Options[0].Amendment.Override[0].Limits = limits(0, 1.5, "circ") },
			shifted, "Kit: damping screw (0 to 1½ turns, was 0 to 1 turn).",
		},
		"a new override": {
			func(s *pb.SpecSheet) {
				s.Options[0].Amendment.Override = append(s.Options[0].Amendment.Override,
					&characteristic{Id: "rear_axle_nut", RequiredIn: []pb.Phase{pb.Phase_PHASE_HANDOVER}})
			},
			shifted, "Kit: changes rear axle nut (required at handover now).",
		},
		"an addition": {
			func(s *pb.SpecSheet) { s.Options[0].Amendment.Add[0].GetCapacity().SafeFill = proto.Float64(490) },
			shifted, "Kit: oil tank (safe fill 490 mL, was 500 mL).",
		},
		"a removal": {
			func(s *pb.SpecSheet) { s.Options[0].Amendment.Remove = nil },
			shifted, "Kit: no longer takes away calibration.",
		},
		"an exclusion": {
			func(s *pb.SpecSheet) { s.Options[0].Excludes = nil },
			shifted, "Kit: no longer excludes rack.",
		},
		"a new option": {
			func(s *pb.SpecSheet) {
				s.Options = append(s.Options, &pb.Option{
					Id: "grips", DisplayName: "Heated grips", Source: "Accessories 3", Requires: []string{"rack"},
					Amendment: &pb.Amendment{Override: []*characteristic{{Id: "damping_screw", Limits: limits(0, 3, "circ")}}},
				})
			},
			appeared, "Heated grips: new option; requires rack; changes damping screw to 0 to 3 turns.",
		},
		"an option gone": {
			func(s *pb.SpecSheet) { s.Options = s.Options[:1]; s.Options[0].Excludes = nil },
			shifted, "Kit: no longer excludes rack.",
		},
		"a bulletin for fewer units": {
			func(s *pb.SpecSheet) {
				s.Bulletins[0].Vin = &pb.VinCoverage{Patterns: s.GetVin().GetPatterns(), SerialFrom: "000100"}
			},
			shifted, "Calibration: the second – for serial numbers from 000100, was for every unit.",
		},
		"a bulletin from another day": {
			func(s *pb.SpecSheet) {
				s.Bulletins[0].EffectiveTime = timestamppb.New(s.GetEffectiveTime().AsTime().AddDate(0, 2, 3))
			},
			shifted, "Calibration: the second – holds from 4 March 2026, was from 1 January 2026.",
		},
		"a bulletin gone": {
			func(s *pb.SpecSheet) { s.Bulletins = nil },
			vanished, "Calibration: the second – bulletin no longer on the sheet.",
		},
		"a rule's number": {
			func(s *pb.SpecSheet) { s.Rules[0].Expression = "rear_axle_nut >= 74.5 || damping_screw < 1.0" },
			shifted, "Nut before screw: 74.5 in place of 73.0 in the condition.",
		},
		"a rule's condition": {
			func(s *pb.SpecSheet) { s.Rules[0].Expression = "rear_axle_nut >= 73.0" },
			shifted, "Nut before screw: the condition is another one.",
		},
		"a new rule": {
			func(s *pb.SpecSheet) {
				s.Rules = append(s.Rules, proto.Clone(s.Rules[0]).(*pb.Rule))
				s.Rules[1].Id = "nut_again"
			},
			appeared, "Nut again: new rule; tells that the nut is too loose.",
		},
	} {
		t.Run(name, func(t *testing.T) {
			target := proto.Clone(base).(*pb.SpecSheet)
			test.change(target)
			a, b := published(t, base), published(t, target)
			diff := specdiff.Compare(a, b, quantity.Metric)
			items := slices.Concat(diff.GetOptions(), diff.GetBulletins(), diff.GetRules())
			if len(items) == 0 || items[0].GetKind() != test.kind || items[0].GetText() != test.text {
				t.Errorf("got %v\nwant %s: %s", items, test.kind, test.text)
			}
			checkMirrored(t, a, b, quantity.Metric)
		})
	}
}
