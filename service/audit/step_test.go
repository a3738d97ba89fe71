package audit

import (
	"testing"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
)

// What is asked of a reading's last digit is the same in every unit.
func TestReadingsInOtherUnits(t *testing.T) {
	limits := func(lower, upper, nominal float64, unit string) *pb.Characteristic {
		return &pb.Characteristic{Id: "x", Limits: &pb.Limits{
			Lower: proto.Float64(lower), Upper: proto.Float64(upper), Nominal: proto.Float64(nominal), Unit: unit,
		}}
	}
	gap, heat := limits(9, 11, 10, "mm"), limits(15, 25, 20, "Cel")
	for name, tc := range map[string]struct {
		c                         *pb.Characteristic
		value, read               float64
		unit, instrument          string
		resolution                float64
		step                      float64
		atNominal, atLimit, finer bool
	}{
		"as written":           {gap, 10.02, 10.02, "mm", "mm", 0.01, 0.01, false, false, false},
		"spelled otherwise":    {gap, 10.02, 10.02, "mm", "millimetre", 0.01, 0.01, false, false, false},
		"finer, spelled":       {gap, 10.025, 10.025, "mm", "millimetre", 0.01, 0.01, false, false, true},
		"inches":               {gap, 10.16, 0.400, "[in_i]", "[in_i]", 0.001, 0.0254, false, false, false},
		"nominal in inches":    {gap, 10.0076, 0.394, "[in_i]", "[in_i]", 0.001, 0.0254, true, false, false},
		"limit in inches":      {gap, 10.9982, 0.433, "[in_i]", "[in_i]", 0.001, 0.0254, false, true, false},
		"near, in millimetres": {gap, 10.004, 10.004, "mm", "mm", 0.01, 0.01, false, false, true},
		"Fahrenheit":           {heat, 24, 75.2, "[degF]", "[degF]", 1, 0.555555556, false, false, true},
		"limit in Fahrenheit":  {heat, 24.4444444444, 76, "[degF]", "[degF]", 1, 0.555555556, false, true, false},
		"nought":               {limits(-2, 2, 1, "mm"), 0, 0, "[in_i]", "[in_i]", 0.01, 0.254, false, false, false},
		"no unit of it":        {gap, 10.16, 0.400, "[in_i]", "mm", 0.01, 0, false, false, false},
		"absurdly fine":        {gap, 10.02, 10.02, "mm", "mm", 5e-324, 0, false, false, false},
	} {
		l := tc.c.GetLimits()
		e := &Entry{}
		e.take(&gauge.Sample{
			Characteristic: tc.c, Outcome: pb.OutcomeKind_OUTCOME_KIND_CONFORMING, Numeric: true, Scaled: true, Stands: true, Value: tc.value,
			Reading:    &pb.Reading{Result: &pb.Reading_Value{Value: tc.read}, Unit: tc.unit},
			Instrument: &pb.Instrument{Unit: tc.instrument, Resolution: tc.resolution},
			Lower:      l.GetLower(), Upper: l.GetUpper(), Nominal: l.GetNominal(), HasNominal: true,
		})
		got := e.samples[0]
		if got.step != tc.step || got.atNominal != tc.atNominal || got.atLimit != tc.atLimit || (e.finer != "") != tc.finer {
			t.Errorf("%s: got step %v, nominal %v, limit %v, finer %q", name, got.step, got.atNominal, got.atLimit, e.finer)
		}
	}
}

// A value that no instrument shows takes no part in means, which it would make
// infinite.
func TestValuesBeyondMeasure(t *testing.T) {
	e := testEngine(t, 1)
	a := newAuditor()
	for n := range 3 {
		r := plainRecord(n)
		if n == 1 {
			r.Readings[0].Result = &pb.Reading_Value{Value: 1e300}
		}
		add(t, a, e, r)
	}
	left := a.Summary().GetCharacteristics()[0].GetDistributions()[0].GetAsLeft()
	if left.GetCount() != 2 || left.GetMean() > 20 || !sane(left.GetStandardDeviation()) {
		t.Errorf("got %v", left)
	}
}

// Limits in another unit in a later revision are another table: numbers in two
// units have no mean.
func TestUnitOfLimitsChanges(t *testing.T) {
	a := newAuditor()
	for _, unit := range []string{"mm", "[in_i]", "mm"} {
		s := sample{c: &pb.Characteristic{Id: "gap", Limits: &pb.Limits{Unit: unit}}, scaled: true, value: 1, upper: 2}
		a.addSample(&s, "spec", location{})
	}
	s := a.Summary()
	if len(s.GetCharacteristics()) != 2 || s.GetCharacteristics()[0].GetUnit() == s.GetCharacteristics()[1].GetUnit() {
		t.Errorf("got %v", s.GetCharacteristics())
	}
}
