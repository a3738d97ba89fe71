package render

import (
	"testing"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

func TestLimits(t *testing.T) {
	f := proto.Float64
	for _, test := range []struct {
		limits     *pb.Limits
		metric, us string
	}{
		{nil, "", ""},
		{&pb.Limits{Lower: f(18), Nominal: f(20), Upper: f(22), Unit: "N.m"}, "20 N·m (18 to 22)", "14.75 lbf·ft (13.28 to 16.23)"},
		{&pb.Limits{Lower: f(18), Upper: f(22), Unit: "N.m"}, "18 to 22 N·m", "13.28 to 16.23 lbf·ft"},
		{&pb.Limits{Upper: f(9), Unit: "N.m"}, "at most 9 N·m", "at most 79.66 lbf·in"},
		{&pb.Limits{Lower: f(2), Unit: "mm"}, "at least 2 mm", "at least 0.07874 in"},
		{&pb.Limits{Lower: f(2), Nominal: f(3), Unit: "mm"}, "3 mm, at least 2 mm", "0.1181 in, at least 0.07874 in"},
		{&pb.Limits{Nominal: f(3), Unit: "mm"}, "3 mm", "0.1181 in"},
		{&pb.Limits{Lower: f(110), Nominal: f(110), Upper: f(110), Unit: "1"}, "110", "110"},
		{&pb.Limits{Lower: f(1), Nominal: f(1.25), Upper: f(2.5), Unit: "circ"}, "1¼ turns (1 to 2½)", "1¼ turns (1 to 2½)"},
		{&pb.Limits{Lower: f(1.3), Upper: f(1.3), Unit: "circ"}, "1.3 turns", "1.3 turns"},
		{&pb.Limits{Lower: f(20), Upper: f(30), Unit: "deg"}, "20 to 30°", "20 to 30°"},
		{&pb.Limits{Lower: f(20), Nominal: f(25), Upper: f(30), Unit: "deg"}, "25° (20 to 30)", "25° (20 to 30)"},
		{&pb.Limits{Lower: f(0), Upper: f(100), Unit: "Cel"}, "0 to 100 °C", "32 to 212 °F"},
		{&pb.Limits{Upper: f(5), Unit: "smoot"}, "at most 5 smoot", "at most 5 smoot"},
	} {
		if got := Limits(test.limits, quantity.Metric); got != test.metric {
			t.Errorf("%v: got %q, want %q", test.limits, got, test.metric)
		}
		if got := Limits(test.limits, quantity.USCustomary); got != test.us {
			t.Errorf("%v: got %q, want %q", test.limits, got, test.us)
		}
	}
}

// A value and its limit must not read the same when one is outside the other.
func TestFiguresTellApart(t *testing.T) {
	mm := func(v float64) *pb.DualQuantity {
		return &pb.DualQuantity{MetricValue: v, MetricUnit: "mm", UsValue: v / 25.4, UsUnit: "[in_i]"}
	}
	f := &pb.Finding{Code: pb.FindingCode_FINDING_CODE_ABOVE_UPPER_LIMIT, Measured: mm(40.00002), Limit: mm(40), Excess: mm(0.00002)}
	if got, want := figures(f, quantity.Metric), "measured 40.00002 mm, limit 40 mm, over by 0.00002 mm"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	turn := func(v float64) *pb.DualQuantity {
		return &pb.DualQuantity{MetricValue: v, MetricUnit: "circ", UsValue: v, UsUnit: "circ"}
	}
	f = &pb.Finding{Code: pb.FindingCode_FINDING_CODE_ABOVE_UPPER_LIMIT, Measured: turn(2.505), Limit: turn(2.5), Excess: turn(0.005)}
	if got, want := figures(f, quantity.Metric), "measured 2.505 turns, limit 2.5 turns, over by 0.005 turns"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Values of enums that a newer server sends are shown as numbers, not lost.
func TestUnknownEnumValues(t *testing.T) {
	if got := phrase.Name(pb.Verdict(42)); got != "42" {
		t.Errorf("got %q", got)
	}
	text := Report(Judged{
		Record: &pb.SetupRecord{},
		Report: &pb.Report{Verdict: 42, Findings: []*pb.Finding{{Code: 999, Severity: 77, DisplayName: "Something", Message: "New."}}},
	}, Options{Width: 80})
	fits(t, text, 80)
}
