package gauge_test

import (
	"bytes"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"buf.build/go/protovalidate"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/internal/golden"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
)

func readSheet(t testing.TB, path string) *pb.SpecSheet {
	t.Helper()
	var file pb.SheetFile
	decode(t, path, &file)
	return file.GetSheet()
}

func decode(t testing.TB, path string, m proto.Message) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := document.Decode(data, m, document.Options{Name: path}); err != nil {
		t.Fatal(err)
	}
}

func compile(t testing.TB, sheet *pb.SpecSheet) *gauge.Engine {
	t.Helper()
	rev, err := spec.NewRevision(sheet)
	if err != nil {
		t.Fatal(err)
	}
	engine, err := gauge.Compile(rev)
	if err != nil {
		t.Fatal(err)
	}
	return engine
}

func testEngine(t testing.TB) *gauge.Engine {
	return compile(t, readSheet(t, "testdata/sheet.yaml"))
}

func caseFiles(t testing.TB) []string {
	t.Helper()
	files, err := filepath.Glob("testdata/cases/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no cases: %v", err)
	}
	return files
}

func readCase(t testing.TB, path string) *pb.SetupRecord {
	t.Helper()
	var rec pb.SetupRecord
	decode(t, path, &rec)
	if err := protovalidate.Validate(&rec); err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return &rec
}

func optionsFor(rec *pb.SetupRecord, units quantity.System) gauge.Options {
	return gauge.Options{AsOf: rec.GetFinishTime().AsTime(), Units: units, Full: true}
}

// Each case gets the verdict and codes that it expects, and the very report that
// stands beside it, in both unit systems.
func TestCases(t *testing.T) {
	engine := testEngine(t)
	for _, path := range caseFiles(t) {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".yaml"), func(t *testing.T) {
			rec := readCase(t, path)
			var report *pb.Report
			for _, units := range []quantity.System{quantity.Metric, quantity.USCustomary} {
				got, err := engine.Gauge(rec, optionsFor(rec, units))
				if err != nil {
					t.Fatal(err)
				}
				if diff := gauge.Disagreement(rec.GetExpectation(), got); diff != "" {
					t.Error(diff)
				}
				if report == nil {
					report = got
				}
				got.Outcomes = nil
				compareGolden(t, strings.Replace(path, "cases", "reports", 1), units, got)
			}
		})
	}
}

func compareGolden(t *testing.T, path string, units quantity.System, report *pb.Report) {
	t.Helper()
	if units == quantity.USCustomary {
		path = strings.TrimSuffix(path, ".yaml") + ".us.yaml"
	}
	got, err := document.Encode(report)
	if err != nil {
		t.Fatal(err)
	}
	golden.Check(t, path, got)
}

// Every finding code of the contract has a case that gets it.
func TestEveryCodeHasACase(t *testing.T) {
	seen := map[pb.FindingCode]bool{}
	for _, path := range caseFiles(t) {
		for _, code := range readCase(t, path).GetExpectation().GetCodes() {
			seen[code] = true
		}
	}
	for number, name := range pb.FindingCode_name {
		if number != 0 && !seen[pb.FindingCode(number)] {
			t.Errorf("no case gets %s", name)
		}
	}
}

// The order of readings, instruments and options in a record never shows in the
// report, and judging a record does not change it.
func TestOrderOfARecordDoesNotShow(t *testing.T) {
	engine := testEngine(t)
	rng := rand.New(rand.NewPCG(1, 2))
	for _, path := range caseFiles(t) {
		rec := readCase(t, path)
		before := proto.CloneOf(rec)
		want := marshal(t, engine, rec)
		if !proto.Equal(before, rec) {
			t.Fatalf("%s: judging changed the record", path)
		}
		for range 20 {
			shuffled := proto.CloneOf(rec)
			rng.Shuffle(len(shuffled.Readings), func(i, j int) {
				shuffled.Readings[i], shuffled.Readings[j] = shuffled.Readings[j], shuffled.Readings[i]
			})
			rng.Shuffle(len(shuffled.Instruments), func(i, j int) {
				shuffled.Instruments[i], shuffled.Instruments[j] = shuffled.Instruments[j], shuffled.Instruments[i]
			})
			rng.Shuffle(len(shuffled.Options), func(i, j int) {
				shuffled.Options[i], shuffled.Options[j] = shuffled.Options[j], shuffled.Options[i]
			})
			if got := marshal(t, engine, shuffled); !bytes.Equal(got, want) {
				t.Fatalf("%s: the report depends on the order of the record", path)
			}
		}
	}
}

func marshal(t *testing.T, engine *gauge.Engine, rec *pb.SetupRecord) []byte {
	t.Helper()
	report, err := engine.Gauge(rec, optionsFor(rec, quantity.Metric))
	if err != nil {
		t.Fatal(err)
	}
	data, err := proto.MarshalOptions{Deterministic: true}.Marshal(report)
	if err != nil {
		t.Fatal(err)
	}
	return data
}
