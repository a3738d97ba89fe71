package phrase

import (
	"math"
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

func TestMeasure(t *testing.T) {
	inf := math.Inf(1)
	for _, test := range []struct {
		unit         string
		lower, upper float64
		metric, us   string
	}{
		{"mm", 3, 5, "3 to 5 mm", "0.1181 to 0.1969 in"},
		{"N.m", 18, 22, "18 to 22 N·m", "13.28 to 16.23 lbf·ft"},
		{"[psi]", 22, 26, "151.7 to 179.3 kPa", "22 to 26 psi"},
		{"circ", 1, 6, "1 to 6 turns", "1 to 6 turns"},
		{"{click}", 6, 18, "6 to 18 clicks", "6 to 18 clicks"},
		{"mm", 1.6, inf, "at least 1.6 mm", "at least 0.06299 in"},
		{"mm", -inf, 9, "at most 9 mm", "at most 0.3543 in"},
		{"1", 2, 2, "2", "2"},
		{"mm", -inf, inf, "", ""},
		{"mm", 1000.21, 1000.24, "1000.21 to 1000.24 mm", "39.378 to 39.38 in"},
	} {
		m := MeasureOf(quantity.MustUnit(test.unit), test.lower, test.upper)
		if got := m.Limits(quantity.Metric, test.lower, test.upper); got != test.metric {
			t.Errorf("metric %v to %v %s = %q, want %q", test.lower, test.upper, test.unit, got, test.metric)
		}
		if got := m.Limits(quantity.USCustomary, test.lower, test.upper); got != test.us {
			t.Errorf("US %v to %v %s = %q, want %q", test.lower, test.upper, test.unit, got, test.us)
		}
	}
}

// One unit for a value and its limits, however their sizes differ.
func TestMeasureKeepsOneUnit(t *testing.T) {
	m := MeasureOf(quantity.MustUnit("mL"), 400, 1200)
	if got := m.Value(quantity.Metric, 400); got != "0.4 L" {
		t.Errorf("got %q, want 0.4 L", got)
	}
	d := m.Dual(946.352946)
	if d.GetMetricValue() != 0.946352946 || d.GetMetricUnit() != "L" || d.GetUsValue() != 1 || d.GetUsUnit() != "[qt_us]" {
		t.Errorf("got %v", d)
	}
}

func TestWordsAreSaidForEveryValue(t *testing.T) {
	for number := range pb.Condition_name {
		c := pb.Condition(number)
		if _, ok := conditions[c]; !ok && c != pb.Condition_CONDITION_UNSPECIFIED {
			t.Errorf("no words for %v", c)
		}
	}
	for got, want := range map[string]string{
		Locking(pb.Locking_LOCKING_TAB_WASHER):             "a tab washer",
		Locking(pb.Locking_LOCKING_UNSPECIFIED):            "",
		Drive(pb.Drive_DRIVE_HEXAGON_SOCKET):               "hexagon socket",
		Drive(pb.Drive_DRIVE_UNSPECIFIED):                  "drive",
		Lubrication(pb.Lubrication_LUBRICATION_GREASED):    "thread greased",
		Lubrication(pb.Lubrication_LUBRICATION_ANTI_SEIZE): "anti-seize compound on the thread",
		Phase(pb.Phase_PHASE_PRE_DELIVERY):                 "pre-delivery",
		Phase(pb.Phase_PHASE_FIRST_SERVICE):                "first service",
		Place(pb.Group_GROUP_WHEELS_AND_TYRES):             "wheels and tyres",
		Words(pb.Drive(99)):                                "99",
		Condition(pb.Condition_CONDITION_ENGINE_WARM):      "the engine warm",
		LowerFirst("Two-stroke oil"):                       "two-stroke oil",
		LowerFirst("SAE 80W"):                              "SAE 80W",
		UpperFirst("élan"):                                 "Élan",
		All([]string{"a", "b", "c"}):                       "a, b and c",
		Any([]string{"DOT 4", "DOT 5.1"}):                  "DOT 4 or DOT 5.1",
		Sentence("set it %s", "back"):                      "set it back.",
		Sentence("done."):                                  "done.",
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}
