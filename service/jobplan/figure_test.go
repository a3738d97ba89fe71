package jobplan

import (
	"math"
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func choiceOf(group pb.Group, accepted ...string) *pb.Characteristic {
	return &pb.Characteristic{Group: group, Kind: &pb.Characteristic_Choice{Choice: &pb.Choice{Accepted: accepted}}}
}

func TestStatedRatio(t *testing.T) {
	const fluids = pb.Group_GROUP_FLUIDS
	nominal := 45.0
	measured := func(unit string) *pb.Characteristic {
		return &pb.Characteristic{
			Group: fluids, Kind: &pb.Characteristic_Measured{Measured: &pb.Measured{}},
			Limits: &pb.Limits{Nominal: &nominal, Unit: unit},
		}
	}
	for name, test := range map[string]struct {
		c    *pb.Characteristic
		want float64 // nought for none
	}{
		"one to fifty":     {choiceOf(fluids, "1:50"), 50},
		"fifty to one":     {choiceOf(fluids, "50 : 1"), 50},
		"a number":         {measured("1"), 45},
		"two ratios":       {choiceOf(fluids, "1:50", "1:60"), 0},
		"no one in it":     {choiceOf(fluids, "2:50"), 0},
		"no ratio":         {choiceOf(fluids, "DOT 4"), 0},
		"nothing":          {choiceOf(fluids, "1:0"), 0},
		"a length":         {measured("mm"), 0},
		"another place":    {choiceOf(pb.Group_GROUP_ELECTRICAL, "1:50"), 0},
		"another kind":     {&pb.Characteristic{Group: fluids}, 0},
		"not there at all": {nil, 0},
	} {
		if got, ok := statedRatio(test.c); ok != (test.want != 0) || ok && got != test.want {
			t.Errorf("%s: got %v, %v, want %v", name, got, ok, test.want)
		}
	}
}

func TestAim(t *testing.T) {
	v := func(x float64) *float64 { return &x }
	for name, test := range map[string]struct {
		limits *pb.Limits
		want   float64 // NaN for none
	}{
		"nominal":         {&pb.Limits{Lower: v(1), Upper: v(5), Nominal: v(2), Unit: "cm"}, 20},
		"middle":          {&pb.Limits{Lower: v(1), Upper: v(5), Unit: "cm"}, 30},
		"one value":       {&pb.Limits{Lower: v(4), Upper: v(4), Unit: "cm"}, 40},
		"one limit":       {&pb.Limits{Lower: v(1), Unit: "cm"}, math.NaN()},
		"other dimension": {&pb.Limits{Nominal: v(1), Unit: "kPa"}, math.NaN()},
	} {
		f, ok := figureOf(&pb.Characteristic{Limits: test.limits})
		if !ok {
			t.Fatalf("%s: no figure", name)
		}
		got, ok := f.aim(millimetre)
		if ok == math.IsNaN(test.want) || ok && got != test.want {
			t.Errorf("%s: got %v, %v, want %v", name, got, ok, test.want)
		}
	}
}

func TestSupplies(t *testing.T) {
	fastener := func(locking pb.Locking, lubrication pb.Lubrication, pieces int32) *step {
		f := &pb.Fastener{Locking: locking, Lubrication: lubrication, Pieces: pieces, Renew: true}
		c := &pb.Characteristic{Kind: &pb.Characteristic_Fastener{Fastener: f}}
		return &step{c: c, PlanStep: &pb.PlanStep{Characteristic: locking.String(), DisplayName: "Hub nut"}}
	}
	var s supplies
	s.forStep(fastener(pb.Locking_LOCKING_WASHER, pb.Lubrication_LUBRICATION_ANTI_SEIZE, 4))
	s.forStep(fastener(pb.Locking_LOCKING_TAB_WASHER, pb.Lubrication_LUBRICATION_OILED, 1))
	s.forStep(fastener(pb.Locking_LOCKING_SPLIT_PIN, pb.Lubrication_LUBRICATION_GREASED, 0))
	s.forStep(fastener(pb.Locking_LOCKING_PREVAILING_TORQUE_NUT, 0, 2))
	s.forStep(fastener(pb.Locking_LOCKING_THREADLOCK_HIGH, 0, 3))
	want := []struct {
		name   string
		pieces int32
	}{
		{"new spring or wedge washer for hub nut", 4},
		{"anti-seize compound", 0},
		{"new tab washer for hub nut", 1},
		{"engine oil for threads", 0},
		{"new split pin for hub nut", 1},
		{"grease for threads", 0},
		{"new prevailing-torque nut for hub nut", 2},
		{"new fastener or washer for hub nut", 3},
		{"high-strength thread-locking fluid", 0},
	}
	got := s.consumables()
	if len(got) != len(want) {
		t.Fatalf("got %v", got)
	}
	for i, w := range want {
		if got[i].GetName() != w.name || got[i].GetPieces() != w.pieces || got[i].GetAmount() != nil {
			t.Errorf("got %v, want %v", got[i], w)
		}
	}
}
