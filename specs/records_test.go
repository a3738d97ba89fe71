package specs_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"buf.build/go/protovalidate"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/specs"
)

// sheets has the library and the engines of all demonstration sheets, made once.
var sheets = sync.OnceValues(func() (*shelf, error) {
	revisions, err := spec.Load(specs.FS)
	if err != nil {
		return nil, err
	}
	library, err := spec.NewLibrary(revisions)
	if err != nil {
		return nil, err
	}
	s := &shelf{library: library, engines: make(map[string]*gauge.Engine, len(revisions))}
	for _, r := range revisions {
		if s.engines[r.Name()], err = gauge.Compile(r); err != nil {
			return nil, fmt.Errorf("%s: %w", r.Name(), err)
		}
	}
	return s, nil
})

type shelf struct {
	library *spec.Library
	engines map[string]*gauge.Engine
}

func openShelf(t *testing.T) *shelf {
	t.Helper()
	s, err := sheets()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// judge judges a record by the revision in force when it was finished.
func (s *shelf) judge(rec *pb.SetupRecord) (*pb.Report, error) {
	unit, at := rec.GetUnit(), rec.GetFinishTime().AsTime()
	revision, err := s.library.InForce(unit.GetModel(), int(unit.GetModelYear()), unit.GetMarket(), at)
	if err != nil {
		return nil, err
	}
	return s.engines[revision.Name()].Gauge(rec, gauge.Options{AsOf: at, Units: quantity.Metric})
}

func recordFiles(t *testing.T, pattern string) []string {
	t.Helper()
	files, err := filepath.Glob(pattern)
	if err != nil || len(files) == 0 {
		t.Fatalf("no files match %s: %v", pattern, err)
	}
	return files
}

func readRecord(file string) (*pb.SetupRecord, *document.Lines, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return nil, nil, err
	}
	rec := &pb.SetupRecord{}
	lines, err := document.Decode(data, rec, document.Options{Name: file})
	return rec, lines, err
}

// Every record gets the verdict and the codes that it expects of itself.
// Together they show every finding code, and an accepted machine of each spec.
func TestRecordsGetWhatTheyExpect(t *testing.T) {
	s := openShelf(t)
	codes := map[pb.FindingCode]bool{}
	accepted := map[string]bool{}
	for _, file := range recordFiles(t, "records/*.yaml") {
		t.Run(filepath.Base(file), func(t *testing.T) {
			rec, _, err := readRecord(file)
			if err != nil {
				t.Fatal(err)
			}
			if err := protovalidate.Validate(rec); err != nil {
				t.Fatal(err)
			}
			report, err := s.judge(rec)
			if err != nil {
				t.Fatal(err)
			}
			if rec.GetExpectation() == nil {
				t.Fatalf("has no expectation; got %v", report.GetVerdict())
			}
			if diff := gauge.Disagreement(rec.GetExpectation(), report); diff != "" {
				t.Errorf("by %s: %s", report.GetSpecRevision(), diff)
			}
			for _, f := range report.GetFindings() {
				codes[f.GetCode()] = true
			}
			if report.GetVerdict() == pb.Verdict_VERDICT_ACCEPT {
				specID, _, _ := strings.Cut(strings.TrimPrefix(report.GetSpecRevision(), "specs/"), "/")
				accepted[specID] = true
			}
		})
	}
	for number, name := range pb.FindingCode_name {
		if code := pb.FindingCode(number); code != pb.FindingCode_FINDING_CODE_UNSPECIFIED && !codes[code] {
			t.Errorf("no record shows %s", name)
		}
	}
	for _, id := range s.library.SpecIDs() {
		if !accepted[id] {
			t.Errorf("no record of %s is accepted", id)
		}
	}
}

// The pairs hold the same readings at two dates; the revisions between them
// make the difference.
func TestRecordsJudgedByTheRevisionInForce(t *testing.T) {
	s := openShelf(t)
	for _, what := range []string{"power-valve", "pedal-free-play"} {
		var values, revisions [2]string
		for i, when := range []string{"before", "after"} {
			rec, _, err := readRecord("records/" + what + "-" + when + "-correction.yaml")
			if err != nil {
				t.Fatal(err)
			}
			report, err := s.judge(rec)
			if err != nil {
				t.Fatal(err)
			}
			revisions[i] = report.GetSpecRevision()
			for _, r := range rec.GetReadings() {
				values[i] += fmt.Sprintln(r.GetCharacteristic(), r.GetResult(), r.GetUnit())
			}
		}
		if revisions[0] == revisions[1] {
			t.Errorf("%s: both records are judged by %s", what, revisions[0])
		}
		if values[0] != values[1] {
			t.Errorf("%s: the readings differ:\n%s\n%s", what, values[0], values[1])
		}
	}
}

// Oil a fifth above the safe level can ruin the machine, and the report says how
// much to take out.
func TestOverfilledTankSaysWhatToDrain(t *testing.T) {
	s := openShelf(t)
	rec, _, err := readRecord("records/oil-tank-overfilled.yaml")
	if err != nil {
		t.Fatal(err)
	}
	report, err := s.judge(rec)
	if err != nil {
		t.Fatal(err)
	}
	if len(report.GetFindings()) != 1 {
		t.Fatalf("got %d findings, want 1", len(report.GetFindings()))
	}
	f := report.GetFindings()[0]
	if f.GetSeverity() != pb.Severity_SEVERITY_DAMAGE {
		t.Errorf("got %v, want DAMAGE", f.GetSeverity())
	}
	if over := f.GetMeasured().GetMetricValue() / f.GetLimit().GetMetricValue(); over != 1.2 {
		t.Errorf("the fill is %g times the safe level, want 1.2", over)
	}
	remedy := f.GetRemedy()
	down := f.GetMeasured().GetMetricValue() - remedy.GetTarget().GetMetricValue()
	if remedy.GetAction() != pb.RemedyAction_REMEDY_ACTION_DRAIN || remedy.GetAmount().GetMetricValue() != down {
		t.Errorf("got %v %v, want to drain %g mL", remedy.GetAction(), remedy.GetAmount(), down)
	}
}

// Files that are refused before the engine sees them name a line; those whose
// fault only the sheet shows name a field, which leads to the line.
func TestBadRecordsAreRefused(t *testing.T) {
	s := openShelf(t)
	bySheet := map[string]gauge.Reason{
		"negative-volume.yaml": gauge.NegativeQuantity,
		"unknown-unit.yaml":    gauge.UnitUnknown,
		"wrong-dimension.yaml": gauge.DimensionMismatch,
	}
	for _, file := range recordFiles(t, "records/bad/*.yaml") {
		name := filepath.Base(file)
		t.Run(name, func(t *testing.T) {
			wanted := wantedLine(t, file)
			rec, lines, err := readRecord(file)
			reason, known := bySheet[name]
			if !known {
				var refused *document.Error
				if !errors.As(err, &refused) {
					t.Fatalf("got %v, want a *document.Error", err)
				}
				if refused.Line != wanted {
					t.Errorf("got line %d, want %d: %v", refused.Line, wanted, err)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if err := protovalidate.Validate(rec); err != nil {
				t.Fatal(err)
			}
			_, err = s.judge(rec)
			var refused *gauge.RecordError
			if !errors.As(err, &refused) || len(refused.Violations) != 1 {
				t.Fatalf("got %v, want a *gauge.RecordError with one violation", err)
			}
			got := refused.Violations[0]
			if got.Reason != reason {
				t.Errorf("got %s, want %s", got.Reason, reason)
			}
			if line, _, found := lines.Line(got.Path); !found || line != wanted {
				t.Errorf("%s is on line %d, want %d", got.Path, line, wanted)
			}
		})
		delete(bySheet, name)
	}
	for name := range bySheet {
		t.Errorf("records/bad/%s is not there", name)
	}
}

// wantedLine reads the line number that a bad file says its error must name, or
// nought where the file says none.
func wantedLine(t *testing.T, file string) int {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var line int
	if _, err := fmt.Sscanf(string(data), "# wanted: line %d\n", &line); err != nil && len(data) > 0 {
		t.Fatalf("begins without # wanted: line N: %v", err)
	}
	return line
}
