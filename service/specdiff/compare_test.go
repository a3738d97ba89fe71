package specdiff_test

import (
	"slices"
	"testing"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/specdiff"
)

type characteristic = pb.Characteristic

// What one change to one characteristic does, and how that is said.
func TestCharacteristic(t *testing.T) {
	for name, test := range map[string]struct {
		base, target *characteristic
		units        quantity.System
		kind         pb.ChangeKind
		text         string
	}{
		"narrower": {
			base:   axleNut(nil),
			target: axleNut(func(ch *characteristic) { ch.Limits = limits(74, 80, "N.m") }),
			kind:   tightened, text: "Rear axle nut: 74 to 80 N·m, was 72 to 80 N·m.",
		},
		"moved": {
			base:   axleNut(func(ch *characteristic) { ch.Limits = limits(68, 76, "N.m") }),
			target: axleNut(nil),
			kind:   shifted, text: "Rear axle nut: 72 to 80 N·m, was 68 to 76 N·m.",
		},
		"open end": {
			base:   axleNut(nil),
			target: axleNut(func(ch *characteristic) { ch.Limits.Lower = nil }),
			kind:   loosened, text: "Rear axle nut: at most 80 N·m, was 72 to 80 N·m.",
		},
		"for readers of another system": {
			base:   axleNut(nil),
			target: axleNut(func(ch *characteristic) { ch.Limits = limits(72, 84, "N.m") }),
			units:  quantity.USCustomary,
			kind:   loosened, text: "Rear axle nut: 53.1 to 61.96 lbf·ft, was 53.1 to 59 lbf·ft.",
		},
		"another unit": {
			base:   axleNut(func(ch *characteristic) { ch.Limits = limits(7200, 8000, "cN.m") }),
			target: axleNut(nil),
			kind:   reworded, text: "Rear axle nut: stated in N·m, was in cN·m; the limits are the same.",
		},
		"another unit, inexact in binary": {
			base:   axleNut(func(ch *characteristic) { ch.Limits = limits(73.1, 80.7, "N.m") }),
			target: axleNut(func(ch *characteristic) { ch.Limits = limits(7310, 8070, "cN.m") }),
			kind:   reworded, text: "Rear axle nut: stated in cN·m, was in N·m; the limits are the same.",
		},
		"another unit, rounded": {
			base:   axleNut(nil),
			target: axleNut(func(ch *characteristic) { ch.Limits = limits(53.1, 59, "[lbf_av].[ft_i]") }),
			kind:   shifted, text: "Rear axle nut: 71.99 to 79.99 N·m, was 72 to 80 N·m.",
		},
		"the same unit in another spelling": {
			base:   axleNut(nil),
			target: axleNut(func(ch *characteristic) { ch.Limits.Unit = "Nm" }),
		},
		"nominal": {
			base:   axleNut(func(ch *characteristic) { ch.Limits.Nominal = proto.Float64(75) }),
			target: axleNut(func(ch *characteristic) { ch.Limits.Nominal = proto.Float64(76) }),
			kind:   reworded, text: "Rear axle nut: aim at 76 N·m, was 75 N·m.",
		},
		"tighter and looser": {
			base:   axleNut(nil),
			target: axleNut(func(ch *characteristic) { ch.Limits = limits(74, 80, "N.m"); ch.RequiredIn = nil }),
			kind:   shifted, text: "Rear axle nut: 74 to 80 N·m, was 72 to 80 N·m; no longer required at pre-delivery.",
		},
		"tighter twice": {
			base: axleNut(nil),
			target: axleNut(func(ch *characteristic) {
				ch.GetFastener().Renew = true
				ch.RequiredIn = append(ch.RequiredIn, pb.Phase_PHASE_SERVICE)
			}),
			kind: tightened, text: "Rear axle nut: to be new each time now; required at service as well.",
		},
		"locking": {
			base:   axleNut(nil),
			target: axleNut(func(ch *characteristic) { ch.GetFastener().Locking = pb.Locking_LOCKING_SPLIT_PIN }),
			kind:   tightened, text: "Rear axle nut: locked by a split pin now.",
		},
		"another locking": {
			base:   axleNut(func(ch *characteristic) { ch.GetFastener().Locking = pb.Locking_LOCKING_JAM_NUT }),
			target: axleNut(func(ch *characteristic) { ch.GetFastener().Locking = pb.Locking_LOCKING_SPLIT_PIN }),
			kind:   shifted, text: "Rear axle nut: locked by a split pin, was by a lock nut.",
		},
		"thread": {
			base:   axleNut(nil),
			target: axleNut(func(ch *characteristic) { ch.GetFastener().Thread = "M18x1.5" }),
			kind:   shifted, text: "Rear axle nut: thread M18x1.5, was M16x1.5.",
		},
		"a coarse thread spelled out": {
			base:   axleNut(func(ch *characteristic) { ch.GetFastener().Thread = "M16" }),
			target: axleNut(func(ch *characteristic) { ch.GetFastener().Thread = "M16x2" }),
		},
		"class": {
			base:   axleNut(nil),
			target: axleNut(func(ch *characteristic) { ch.GetFastener().PropertyClass = "10" }),
			kind:   shifted, text: "Rear axle nut: property class 10, was 8.",
		},
		"any class": {
			base:   axleNut(nil),
			target: axleNut(func(ch *characteristic) { ch.GetFastener().PropertyClass = "" }),
			kind:   loosened, text: "Rear axle nut: any property class, was 8.",
		},
		"drive": {
			base:   axleNut(nil),
			target: axleNut(func(ch *characteristic) { ch.GetFastener().DriveSizeMm = 27 }),
			kind:   reworded, text: "Rear axle nut: takes hexagon 27 mm, was hexagon 24 mm.",
		},
		"guarded acceptance": {
			base: axleNut(nil),
			target: axleNut(func(ch *characteristic) {
				ch.DecisionRule = pb.DecisionRule_DECISION_RULE_GUARDED_ACCEPTANCE
			}),
			kind: tightened, text: "Rear axle nut: accepted only inside the limits by a guard band now.",
		},
		"simple acceptance said outright": {
			base:   axleNut(nil),
			target: axleNut(func(ch *characteristic) { ch.DecisionRule = pb.DecisionRule_DECISION_RULE_SIMPLE_ACCEPTANCE }),
		},
		"guarded and wider": {
			base: axleNut(nil),
			target: axleNut(func(ch *characteristic) {
				ch.Limits = limits(70, 80, "N.m")
				ch.DecisionRule = pb.DecisionRule_DECISION_RULE_GUARDED_ACCEPTANCE
			}),
			kind: shifted, text: "Rear axle nut: 70 to 80 N·m, was 72 to 80 N·m; accepted only inside the limits by a guard band now.",
		},
		"severity and texts": {
			base: axleNut(nil),
			target: axleNut(func(ch *characteristic) {
				ch.Severity, ch.Caution, ch.Method = pb.Severity_SEVERITY_SAFETY, "The wheel comes loose.", "Torque wrench."
			}),
			kind: reworded, text: "Rear axle nut: severity safety, was damage; method and caution reworded.",
		},
		"source only": {
			base:   axleNut(nil),
			target: axleNut(func(ch *characteristic) { ch.Source = "Handbook 2" }),
			kind:   reworded, text: "Rear axle nut: source changed.",
		},
		"conditions": {
			base: axleNut(func(ch *characteristic) {
				ch.ReferenceConditions = []pb.Condition{pb.Condition_CONDITION_ENGINE_COLD}
			}),
			target: axleNut(func(ch *characteristic) {
				ch.ReferenceConditions = []pb.Condition{pb.Condition_CONDITION_RIDER_OFF, pb.Condition_CONDITION_ENGINE_COLD}
			}),
			kind: tightened, text: "Rear axle nut: to be read with no rider on it as well.",
		},
		"another condition": {
			base: axleNut(func(ch *characteristic) {
				ch.ReferenceConditions = []pb.Condition{pb.Condition_CONDITION_ENGINE_COLD}
			}),
			target: axleNut(func(ch *characteristic) {
				ch.ReferenceConditions = []pb.Condition{pb.Condition_CONDITION_ENGINE_WARM}
			}),
			kind: shifted, text: "Rear axle nut: to be read with the engine warm, was with the engine cold.",
		},
		"fill: safe fill without an upper limit": {
			base:   fill(400, 0, 0, nil),
			target: fill(400, 0, 460, nil),
			kind:   tightened, text: "Oil tank: no more than 460 mL is safe on the side stand.",
		},
		"fill: an upper limit in place of a safe fill": {
			base:   fill(400, 0, 460, nil),
			target: fill(400, 460, 0, nil),
			kind:   reworded, text: "Oil tank: 400 to 460 mL, was at least 400 mL; no safe fill stated any more, was 460 mL.",
		},
		"fill: the same with a guard band": {
			base:   fill(400, 0, 460, asGuarded),
			target: fill(400, 460, 0, asGuarded),
			kind:   tightened, text: "Oil tank: 400 to 460 mL, was at least 400 mL; no safe fill stated any more, was 460 mL.",
		},
		"fill: safe fill above the upper limit": {
			base:   fill(400, 480, 520, nil),
			target: fill(400, 480, 500, nil),
			kind:   reworded, text: "Oil tank: safe fill 500 mL, was 520 mL.",
		},
		"fill: another fluid": {
			base:   fill(400, 480, 0, nil),
			target: fill(400, 480, 0, func(ch *characteristic) { ch.GetCapacity().Fluid = "SAE 30" }),
			kind:   shifted, text: "Oil tank: filled with SAE 30, was two-stroke oil.",
		},
		"choice": {
			base: choice("C1"), target: choice("C1", "C2"),
			kind: loosened, text: `Calibration: "C1" or "C2", was "C1".`,
		},
		"choice in another order and spelling": {
			base: choice("C1", "C-2"), target: choice("c_2", "C1"),
			kind: reworded, text: "Calibration: accepted words reworded.",
		},
		"choice that readings tell apart": {
			base: choice("C-2"), target: choice("C2"),
			kind: shifted, text: `Calibration: "C2", was "C-2".`,
		},
		"choice of many": {
			base: choice("1", "2", "3", "4", "5"), target: choice("1", "2", "3", "4"),
			kind: tightened, text: `Calibration: "5" no longer accepted.`,
		},
		"another kind of thing": {
			base: choice("C1"),
			target: func() *characteristic {
				ch := choice("C1")
				ch.Kind = &pb.Characteristic_Inspection{Inspection: &pb.Inspection{Criterion: "It is C1."}}
				return ch
			}(),
			kind: shifted, text: "Calibration: now an inspection, was a choice.",
		},
		"clicks in place of turns": {
			base: screw(2, "circ"), target: screw(12, "{click}"),
			kind: shifted, text: "Damping screw: 0 to 12 clicks, was 0 to 2 turns.",
		},
		"turns that are no eighths": {
			base: screw(2.5, "circ"), target: screw(2.55, "circ"),
			kind: loosened, text: "Damping screw: 0 to 2.55 turns, was 0 to 2½ turns.",
		},
		"counted from elsewhere": {
			base: screw(2, "circ"),
			target: func() *characteristic {
				ch := screw(2, "circ")
				ch.GetAdjuster().ReferencePosition, ch.GetAdjuster().Counted = "fully out", pb.TurnDirection_TURN_DIRECTION_IN
				return ch
			}(),
			kind: shifted, text: "Damping screw: counted from fully out, was from fully in; counted in, was out.",
		},
	} {
		t.Run(name, func(t *testing.T) {
			changes := specdiff.Compare(revisionOf(t, test.base), revisionOf(t, test.target), test.units).GetCharacteristics()
			if test.text == "" {
				if len(changes) != 0 {
					t.Fatalf("got %v, want no difference", changes)
				}
				return
			}
			if len(changes) != 1 || changes[0].GetKind() != test.kind || changes[0].GetText() != test.text {
				t.Fatalf("got %v\nwant %s: %s", changes, test.kind, test.text)
			}
		})
	}
}

func asGuarded(ch *characteristic) {
	ch.DecisionRule = pb.DecisionRule_DECISION_RULE_GUARDED_ACCEPTANCE
}

func fill(lower, upper, safe float64, change func(*characteristic)) *characteristic {
	c := &pb.Capacity{Fluid: "Two-stroke oil"}
	if safe != 0 {
		c.SafeFill = &safe
	}
	ch := &characteristic{
		Id: "oil_tank_fill", DisplayName: "Oil tank", Group: pb.Group_GROUP_FLUIDS, Limits: limits(lower, upper, "mL"),
		Severity: pb.Severity_SEVERITY_DAMAGE, Source: "Handbook 4", Kind: &pb.Characteristic_Capacity{Capacity: c},
	}
	if upper == 0 {
		ch.Limits.Upper = nil
	}
	if change != nil {
		change(ch)
	}
	return ch
}

func choice(accepted ...string) *characteristic {
	return &characteristic{
		Id: "calibration", DisplayName: "Calibration", Group: pb.Group_GROUP_ELECTRICAL, Severity: pb.Severity_SEVERITY_FUNCTION,
		Source: "Handbook 11", Kind: &pb.Characteristic_Choice{Choice: &pb.Choice{Accepted: accepted}},
	}
}

func screw(upper float64, unit string) *characteristic {
	return &characteristic{
		Id: "damping_screw", DisplayName: "Damping screw", Group: pb.Group_GROUP_SUSPENSION, Limits: limits(0, upper, unit),
		Severity: pb.Severity_SEVERITY_FUNCTION, Source: "Handbook 10",
		Kind: &pb.Characteristic_Adjuster{Adjuster: &pb.Adjuster{ReferencePosition: "fully in", MechanicalRange: &pb.Interval{Lower: proto.Float64(0)}}},
	}
}

// A longer guard band is told once, in the head, but no kind is untrue for it.
func TestGuardBandMultiplier(t *testing.T) {
	base := sheetOf(axleNut(asGuarded), fill(400, 480, 0, asGuarded))
	target := sheetOf(axleNut(func(ch *characteristic) { asGuarded(ch); ch.Limits = limits(70, 80, "N.m") }), fill(400, 480, 0, asGuarded))
	target.GuardBandMultiplier = proto.Float64(1.5)
	diff := specdiff.Compare(published(t, base), published(t, target), quantity.Metric)
	want := &pb.FieldChange{
		Field: "guard_band_multiplier", Label: "guard band",
		Before: "1 times the expanded uncertainty, for 2 characteristics by guarded acceptance",
		After:  "1.5 times the expanded uncertainty, for 2 characteristics by guarded acceptance",
	}
	if len(diff.GetHead()) != 1 || !proto.Equal(diff.GetHead()[0], want) {
		t.Errorf("got head %v", diff.GetHead())
	}
	const text = "Rear axle nut: 70 to 80 N·m, was 72 to 80 N·m; its guard band is another one, see the head of the sheet."
	if changes := diff.GetCharacteristics(); len(changes) != 1 || changes[0].GetKind() != shifted || changes[0].GetText() != text {
		t.Errorf("got %v", changes)
	}
	target.GuardBandMultiplier = proto.Float64(1)
	if head := specdiff.Compare(published(t, base), published(t, target), quantity.Metric).GetHead(); len(head) != 0 {
		t.Errorf("got head %v, want none: 1 is what holds where nothing is stated", head)
	}
}

// What vanished stands where it stood, and the rest in the order of the job.
func TestOrder(t *testing.T) {
	named := func(id string, prerequisites ...string) *characteristic {
		return axleNut(func(ch *characteristic) { ch.Id, ch.DisplayName, ch.Prerequisites = id, id, prerequisites })
	}
	changed := func(ch *characteristic) *characteristic { ch.Method = "Otherwise."; return ch }
	base := revisionOf(t, named("first"), named("a"), named("b"), named("gone"), named("c"), named("last"))
	target := revisionOf(t, changed(named("b", "c")), changed(named("a")), changed(named("c")), named("new"))
	var got []string
	for _, ch := range specdiff.Compare(base, target, quantity.Metric).GetCharacteristics() {
		got = append(got, ch.GetCharacteristic())
	}
	if want := []string{"first", "a", "c", "last", "b", "gone", "new"}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}
