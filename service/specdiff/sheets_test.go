package specdiff_test

import (
	"fmt"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
)

// revisionOf makes a revision of a sheet with these characteristics.
func revisionOf(t testing.TB, list ...*pb.Characteristic) *spec.Revision {
	t.Helper()
	return published(t, sheetOf(list...))
}

func published(t testing.TB, sheet *pb.SpecSheet) *spec.Revision {
	t.Helper()
	r, err := spec.NewRevision(sheet)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func sheetOf(list ...*pb.Characteristic) *pb.SpecSheet {
	return &pb.SpecSheet{
		SpecId: "tarn-125-2026-eu", Revision: 1, Make: "Nobody", Model: "Tarn 125", ModelYear: 2026, Market: "EU",
		EffectiveTime:   timestamppb.New(time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)),
		ChangeNote:      "First.",
		SourceDocument:  "Invented handbook",
		Invented:        true,
		Vin:             &pb.VinCoverage{Patterns: []string{"0TARN1???T???????"}},
		Characteristics: list,
	}
}

// axleNut is a fastener of 72 to 80 N·m.
func axleNut(change func(*pb.Characteristic)) *pb.Characteristic {
	ch := &pb.Characteristic{
		Id: "rear_axle_nut", DisplayName: "Rear axle nut", Group: pb.Group_GROUP_FASTENERS,
		Limits: limits(72, 80, "N.m"), Severity: pb.Severity_SEVERITY_DAMAGE, Source: "Handbook 1",
		RequiredIn: []pb.Phase{pb.Phase_PHASE_PRE_DELIVERY},
		Kind: &pb.Characteristic_Fastener{Fastener: &pb.Fastener{
			Thread: "M16x1.5", Drive: pb.Drive_DRIVE_HEXAGON, DriveSizeMm: 24, PropertyClass: "8",
		}},
	}
	if change != nil {
		change(ch)
	}
	return ch
}

func limits(lower, upper float64, unit string) *pb.Limits {
	return &pb.Limits{Lower: &lower, Upper: &upper, Unit: unit}
}

// drawSheet draws a sheet of characteristics of every kind, some of which are
// the same as in other sheets drawn.
func drawSheet(t *rapid.T) *spec.Revision {
	var list []*pb.Characteristic
	for i := range 8 {
		if rapid.IntRange(0, 5).Draw(t, "there") == 0 {
			continue
		}
		list = append(list, drawCharacteristic(t, fmt.Sprintf("thing_%d", i), list))
	}
	if len(list) == 0 {
		list = append(list, axleNut(nil))
	}
	sheet := sheetOf(list...)
	if rapid.Bool().Draw(t, "multiplier") {
		sheet.GuardBandMultiplier = proto.Float64(rapid.SampledFrom([]float64{0.5, 1, 1.5}).Draw(t, "guard"))
	}
	r, err := spec.NewRevision(sheet)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func drawCharacteristic(t *rapid.T, id string, earlier []*pb.Characteristic) *pb.Characteristic {
	ch := &pb.Characteristic{
		Id: id, DisplayName: "Thing " + id[len(id)-1:], Group: pb.Group_GROUP_CONTROLS, Severity: pb.Severity_SEVERITY_DAMAGE,
		Source: "Handbook " + rapid.SampledFrom([]string{"1", "2"}).Draw(t, "source"),
	}
	subset := func(label string, all ...int32) []int32 {
		var some []int32
		for _, v := range all {
			if rapid.IntRange(0, 2).Draw(t, label) == 0 {
				some = append(some, v)
			}
		}
		return some
	}
	for _, p := range subset("phase", 1, 2, 3) {
		ch.RequiredIn = append(ch.RequiredIn, pb.Phase(p))
	}
	for _, p := range subset("condition", 11, 21) {
		ch.ReferenceConditions = append(ch.ReferenceConditions, pb.Condition(p))
	}
	if len(earlier) > 0 && rapid.IntRange(0, 3).Draw(t, "prerequisite") == 0 {
		ch.Prerequisites = []string{earlier[0].GetId()}
	}
	if rapid.IntRange(0, 3).Draw(t, "reworded") == 0 {
		ch.Method = "By hand."
	}
	number := func(units ...string) {
		lower := float64(rapid.IntRange(10, 14).Draw(t, "lower"))
		ch.Limits = limits(lower, lower+float64(rapid.IntRange(0, 4).Draw(t, "width")), rapid.SampledFrom(units).Draw(t, "unit"))
		switch rapid.IntRange(0, 5).Draw(t, "open") {
		case 0:
			ch.Limits.Lower = nil
		case 1:
			ch.Limits.Upper = nil
		}
		if units[0] != "circ" && units[0] != "1" && rapid.IntRange(0, 2).Draw(t, "guarded") == 0 {
			ch.DecisionRule = pb.DecisionRule_DECISION_RULE_GUARDED_ACCEPTANCE
		}
	}
	// Mostly, one thing is of the same kind on every sheet.
	kind := int(id[len(id)-1] - '0')
	if rapid.IntRange(0, 15).Draw(t, "other kind") == 0 {
		kind = rapid.IntRange(0, 7).Draw(t, "kind")
	}
	switch kind {
	case 0:
		number("mm", "cm")
		ch.Kind = &pb.Characteristic_Measured{Measured: &pb.Measured{}}
	case 1:
		number("L", "mL", "[qt_us]")
		c := &pb.Capacity{Fluid: rapid.SampledFrom([]string{"oil", "fuel"}).Draw(t, "fluid")}
		if rapid.Bool().Draw(t, "safe") {
			least := 14.0
			if ch.Limits.Upper != nil {
				least = ch.Limits.GetUpper()
			}
			c.SafeFill = proto.Float64(least + float64(rapid.IntRange(0, 3).Draw(t, "fill")))
		}
		ch.Kind = &pb.Characteristic_Capacity{Capacity: c}
	case 2:
		number("N.m", "[lbf_av].[ft_i]")
		ch.Kind = &pb.Characteristic_Fastener{Fastener: &pb.Fastener{
			Thread:  rapid.SampledFrom([]string{"M12x1.75", "M12", "M14x1.5"}).Draw(t, "thread"),
			Locking: pb.Locking(rapid.IntRange(0, 2).Draw(t, "locking")),
			Renew:   rapid.Bool().Draw(t, "renew"),
		}}
	case 3:
		number("circ")
		ch.Kind = &pb.Characteristic_Adjuster{Adjuster: &pb.Adjuster{ReferencePosition: "lightly seated", MechanicalRange: &pb.Interval{}}}
	case 4:
		number("1")
		ch.Kind = &pb.Characteristic_Count{Count: &pb.Count{}}
	case 5:
		accepted := []string{"A"}
		for _, v := range subset("accepted", 1, 2, 3) {
			accepted = append(accepted, fmt.Sprint(v))
		}
		ch.Kind = &pb.Characteristic_Choice{Choice: &pb.Choice{Accepted: accepted}}
	case 6:
		ch.Kind = &pb.Characteristic_Inspection{Inspection: &pb.Inspection{Criterion: rapid.SampledFrom([]string{"It holds.", "It is tight."}).Draw(t, "criterion")}}
	case 7:
		ch.Kind = &pb.Characteristic_Identifier{Identifier: &pb.Identifier{Pattern: rapid.SampledFrom([]string{"A+", "B+"}).Draw(t, "pattern")}}
	}
	return ch
}
