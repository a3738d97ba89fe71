package phrase

import (
	"math"
	"strconv"
	"testing"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func TestFigures(t *testing.T) {
	say := func(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }
	for _, test := range []struct{ got, want string }{
		{Grouped(0), "0"},
		{Grouped(999), "999"},
		{Grouped(1000), "1,000"},
		{Grouped(-1234567), "-1,234,567"},
		{Many(1, "record"), "1 record"},
		{Many(0, "record"), "0 records"},
		{Percent(0), "0 %"},
		{Percent(0.0004), "<0.1 %"},
		{Percent(0.9996), ">99.9 %"},
		{Percent(1), "100 %"},
		{Percent(0.12345), "12.3 %"},
		{Percent(math.NaN()), ""},
		{Probability(0), "<0.001"},
		{Probability(0.0042), "0.004"},
		{Probability(0.5), "0.50"},
		{Probability(1), "1.00"},
		{Probability(1.1), ""},
		{Probability(math.NaN()), ""},
		{Interval(&pb.AuditEstimate{Lower: proto.Float64(2), Upper: proto.Float64(3)}, say), "2.00 to 3.00"},
		{Interval(&pb.AuditEstimate{Lower: proto.Float64(2)}, say), "at least 2.00"},
		{Interval(&pb.AuditEstimate{Upper: proto.Float64(0.75)}, say), "at most 0.75"},
		{Interval(&pb.AuditEstimate{Lower: proto.Float64(math.Inf(-1)), Upper: proto.Float64(0.75)}, say), "at most 0.75"},
		{Interval(&pb.AuditEstimate{Upper: proto.Float64(2)}, func(float64) string { return "" }), ""},
		{Interval(&pb.AuditEstimate{Value: 1}, say), ""},
		{Interval(nil, say), ""},
		{Words(pb.AuditSign_AUDIT_SIGN_VIN_SEEN_BEFORE), "VIN seen before"},
		{Words(pb.AuditSign_AUDIT_SIGN_DRIFT), "drift"},
	} {
		if test.got != test.want {
			t.Errorf("got %q, want %q", test.got, test.want)
		}
	}
}
