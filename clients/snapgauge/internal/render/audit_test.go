package render

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// crowded is a summary in which every table is cut.
func crowded(s *pb.AuditSummary) *pb.AuditSummary {
	s = proto.CloneOf(s)
	for i := range 12 {
		shop := proto.CloneOf(s.GetShops()[0])
		shop.Name = fmt.Sprintf("shop-%02d", i)
		s.Shops = append(s.Shops, shop)
		s.Characteristics = append(s.Characteristics, s.GetCharacteristics()[0])
		s.Observations = append(s.Observations, s.GetObservations()[0])
		s.Errors = append(s.Errors, &pb.AuditErrorCount{Reason: "UNIT_UNKNOWN", RecordCount: 1})
	}
	for len(s.GetParetoCharacteristics()) < mostListed {
		s.ParetoCharacteristics = append(s.ParetoCharacteristics, s.GetParetoCharacteristics()[0])
	}
	s.Options.SpecRevision = "specs/ulverdale-causeway-400-2026-us/revisions/2"
	return s
}

func nowhere(int64) (string, int64, bool) { return "", 0, false }

// Examples are named by their places; without them by their indices, as the report
// names them.
func TestExamples(t *testing.T) {
	o := &pb.AuditObservation{ExampleIndices: []int64{0, 2, 3, 9}}
	for _, test := range []struct {
		place PlaceOf
		want  string
	}{
		{nowhere, "such as index 0, 2, 3, 9"},
		{func(i int64) (string, int64, bool) { return "june.csv", i, i < 9 }, "such as index 0, 2, 3, 9"},
		{func(i int64) (string, int64, bool) { return "june.csv", i + 2, true }, "such as june.csv:2, 4, 5, 11"},
		{func(i int64) (string, int64, bool) { return fmt.Sprintf("%d.csv", i/3), i + 2, true }, "such as 0.csv:2, 4, 1.csv:5, 3.csv:11"},
		{func(i int64) (string, int64, bool) { return fmt.Sprintf("setups/%d", i), 0, true }, "such as setups/0, setups/2, setups/3, setups/9"},
	} {
		if got := examples(o, test.place); got != test.want {
			t.Errorf("got %q, want %q", got, test.want)
		}
	}
	if got := examples(&pb.AuditObservation{}, nowhere); got != "" {
		t.Errorf("got %q where there are none", got)
	}
}

func TestAuditGolden(t *testing.T) {
	summary := new(pb.AuditSummary)
	data, err := os.ReadFile(filepath.Join("testdata", "audit.json")) // all of it is invented
	if err != nil {
		t.Fatal(err)
	}
	if err := protojson.Unmarshal(data, summary); err != nil {
		t.Fatal(err)
	}
	for name, s := range map[string]*pb.AuditSummary{
		"audit": summary, "audit-crowded": crowded(summary), "audit-empty": {},
	} {
		before := proto.CloneOf(s)
		for _, look := range looks {
			t.Run(name+"/"+look.name, func(t *testing.T) {
				got := Audit(s, nowhere, look.options)
				golden(t, name+"-"+look.name, got)
				fits(t, got, look.options.Width)
			})
		}
		if plain, coloured := Audit(s, nowhere, Options{Width: 80}), Audit(s, nowhere, Options{Width: 80, Ink: true}); decolour(coloured) != plain {
			t.Errorf("%s: differs without its colour", name)
		}
		if !proto.Equal(s, before) {
			t.Errorf("%s: the summary was changed", name)
		}
	}
}

// Nothing that a summary holds steers the terminal.
func TestAuditIsCleaned(t *testing.T) {
	const bad = "a\x1b[2J\u202eb\r\n"
	s := &pb.AuditSummary{
		Options: &pb.AuditOptions{Title: bad}, EngineVersion: bad, RecordCount: 1, ErrorCount: 1, Notes: []string{bad},
		Shops:                 []*pb.AuditYield{{Name: bad}},
		Errors:                []*pb.AuditErrorCount{{Reason: bad}},
		ParetoCharacteristics: []*pb.AuditFindingCount{{DisplayName: bad}},
		Characteristics: []*pb.AuditCharacteristic{{DisplayName: bad, SpecId: bad, Unit: bad, Distributions: []*pb.AuditDistribution{
			{Capability: &pb.AuditCapability{Cpk: &pb.AuditEstimate{}}}}}},
		Observations: []*pb.AuditObservation{{Because: bad, InnocentCauses: bad, ExampleIndices: []int64{0}}},
		Tests:        []*pb.AuditTest{{EffectMeasure: bad}},
	}
	for _, width := range []int{40, 120} {
		if got := Audit(s, func(int64) (string, int64, bool) { return bad, 1, true }, Options{Width: width}); strings.ContainsAny(got, "\x1b\r\u202e") {
			t.Errorf("width %d: %q", width, got)
		}
	}
}

func TestAuditNumbers(t *testing.T) {
	for got, want := range map[string]string{
		probability("q", 1e-9):   "q < 0.001",
		probability("q", 0.0042): "q = 0.004",
		probability("q", 0.5):    "q = 0.50",
		percents(&pb.AuditEstimate{Lower: proto.Float64(0.5), Upper: proto.Float64(0.75)}): "50.0 to 75.0 %",
		percents(&pb.AuditEstimate{Upper: proto.Float64(0.75)}):                            "at most 75.0 %",
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	for i, got := range []string{
		probability("q", math.NaN()), plainNumber(math.Inf(1)), percents(nil),
	} {
		if got != "" {
			t.Errorf("%d: got %q, want nothing", i, got)
		}
	}
}
