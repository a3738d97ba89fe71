package auditreport

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

func TestFigures(t *testing.T) {
	us, metric := quantity.USCustomary, quantity.Metric
	turns := readingOf("circ", metric, 1, 2)
	for _, c := range []struct{ got, want string }{
		{count(0), "0"}, {count(999), "999"}, {count(1000), "1,000"}, {count(1234567), "1,234,567"}, {count(-12345), "-12,345"},
		{counted(1, "record"), "1 record"}, {counted(0, "record"), "0 records"},
		{percent(0), "0 %"}, {percent(1), "100 %"}, {percent(0.0004), "< 0.1 %"}, {percent(0.9999), "> 99.9 %"}, {percent(0.1234), "12.3 %"}, {percent(math.NaN()), "–"},
		{wholePercent(0.004), "< 1 %"}, {wholePercent(0.999), "> 99 %"}, {wholePercent(0.126), "13 %"},
		{probability(0), "< 0.001"}, {probability(0.0123), "0.012"}, {probability(0.4), "0.40"}, {probability(1), "1.00"}, {probability(math.NaN()), "–"},
		{probabilityIs("q", 1e-9), "q < 0.001"}, {probabilityIs("p", 0.05), "p = 0.050"},
		{estimated(nil, threeDigits), "–"},
		{estimated(&pb.AuditEstimate{Value: 1.2345}, threeDigits), "1.23"},
		{estimated(&pb.AuditEstimate{Value: 1.2345, Lower: proto.Float64(1), Upper: proto.Float64(2)}, threeDigits), "1.23 (1 to 2)"},
		{estimated(&pb.AuditEstimate{Value: 1.2345, Lower: proto.Float64(1)}, threeDigits), "1.23 (at least 1)"},
		{phrase.Words(pb.FindingCode_FINDING_CODE_VIN_CHECK_DIGIT), "VIN check digit"},
		{phaseWords("PRE_DELIVERY"), "pre-delivery"}, {phaseWords("PHASE_SERVICE"), "service"}, {phaseWords("<b>"), "<b>"}, {phaseWords("UNSPECIFIED"), "UNSPECIFIED"},
		{revisionWords("specs/a-b/revisions/4"), "revision 4 of a-b"}, {revisionWords("4"), "4"},
		{fixed(4.2, 2), "4.20"}, {fixed(-0.001, 1), "0.0"}, {fixed(1234567, 2), "1234570"}, {fixed(12345.678, 3), "12345.7"},
		{readingOf("mm", metric, 3, 5).limits(3, 5), "3 to 5 mm"},
		{readingOf("mm", metric, 3).limits(3, math.NaN()), "at least 3 mm"},
		{readingOf("nonsense", metric, 3).limits(3, 5), "3 to 5 nonsense"},
		{turns.limits(1, 2), "1 to 2 turns"},
		{turns.sayFixed(1.53, 2), "1.53 turns"},
		{readingOf("mL", us, 420).say(readingOf("mL", us, 420).at(420)), "14.2 fl oz"},
		// A difference of temperatures has no offset.
		{fixed(readingOf("Cel", us, 80).difference(5), 1), "9.0"},
	} {
		if got := strings.ReplaceAll(c.got, "\u00a0", " "); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

func TestTicks(t *testing.T) {
	for _, c := range []struct{ lo, hi float64 }{{0, 1}, {-3, 7}, {380, 450}, {1e-6, 3e-6}, {12.4, 12.41}, {-1e308, 1e308}, {5, 5}, {0, math.Inf(1)}} {
		list := ticks(c.lo, c.hi, 5)
		if len(list) > 11 {
			t.Errorf("%v to %v has %d ticks", c.lo, c.hi, len(list))
		}
		for i, v := range list {
			if !finite(v) || v < c.lo-1e-9*math.Abs(c.lo) || i > 0 && v <= list[i-1] {
				t.Errorf("%v to %v has ticks %v", c.lo, c.hi, list)
			}
		}
	}
}

// The map's worst shop is not one whose only record went wrong.
func TestFewRecordsDoNotLead(t *testing.T) {
	if one, many := atLeast(1, 1), atLeast(40, 100); one >= many {
		t.Errorf("1 of 1 goes before 40 of 100: %v, %v", one, many)
	}
}

// Characteristics come by the share nonconforming, then by Cpk, and each has its
// drawings where its line leads to.
func TestWorstFirst(t *testing.T) {
	c := reportOf(rich()).Characteristics
	lines := append(slices.Clone(c.Table.Shown.Rows), c.Table.Rest.Rows...)
	all := append(slices.Clone(c.Shown), c.Rest...)
	if len(lines) != len(all) || len(c.Shown) != shownCharacteristics || len(c.Table.Shown.Rows) != shownLines {
		t.Fatalf("%d lines, %d of them shown; %d characteristics, %d of them shown", len(lines), len(c.Table.Shown.Rows), len(all), len(c.Shown))
	}
	before := math.MaxInt
	for i, l := range lines {
		if l[0].Href != "#"+all[i].ID || l[0].Text != all[i].Name {
			t.Errorf("%s leads to %s", l[0].Text, all[i].Name)
		}
		// In the sample all are read equally often.
		wrong, err := strconv.Atoi(l[2].Text)
		if err != nil || wrong > before {
			t.Errorf("%s with %d comes after one with %d", l[0].Text, wrong, before)
		}
		before = wrong
	}
	for _, c := range []struct{ first, second *pb.AuditCharacteristic }{
		{withCpk(0.8), withCpk(1.4)}, {withCpk(1.4), &pb.AuditCharacteristic{}},
	} {
		if worse(c.first, c.second) >= 0 || worse(c.second, c.first) <= 0 {
			t.Errorf("%v does not go before %v", c.first, c.second)
		}
	}
}

func withCpk(v float64) *pb.AuditCharacteristic {
	return &pb.AuditCharacteristic{Distributions: []*pb.AuditDistribution{{Capability: &pb.AuditCapability{Cpk: &pb.AuditEstimate{Value: v}}}}}
}
