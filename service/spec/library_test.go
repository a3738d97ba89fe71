package spec_test

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
)

func TestInForce(t *testing.T) {
	l := testLibrary(t)
	day := func(year int, month time.Month) time.Time { return time.Date(year, month, 1, 0, 0, 0, 0, time.UTC) }
	for _, test := range []struct {
		model  string
		year   int
		market string
		asOf   time.Time
		want   string // of the revision's name or the error
	}{
		{"Scree 250i", 2026, "EU", day(2026, 1), "specs/scree-250i-2026-eu/revisions/1"},
		{"Scree 250i", 2026, "EU", day(2026, 4), "specs/scree-250i-2026-eu/revisions/2"},
		{"Scree 250i", 2026, "EU", day(2026, 4).Add(-1), "specs/scree-250i-2026-eu/revisions/1"},
		{"SCREE-250I", 2026, "EU", day(2026, 4), "specs/scree-250i-2026-eu/revisions/2"},
		{" scree ", 2026, "EU", day(2026, 4), "specs/scree-250i-2026-eu/revisions/2"},
		{"tarn-works scree250i", 2026, "EU", day(2026, 4), "specs/scree-250i-2026-eu/revisions/2"},
		{"Scree 250 injection", 2027, "US", day(2027, 1), "specs/scree-250i-2027-us/revisions/1"},
		{"Scree 250i", 2026, "EU", day(2025, 9), "spec scree-250i-2026-eu was not in force on 2025-09-01T00:00:00Z: its first revision holds from 2025-10-01T00:00:00Z"},
		{"Scree 250i", 2026, "US", day(2026, 4), `no model "Scree 250i" of 2026 in US; did you mean Scree 250i 2026 EU or Scree 250i 2027 US?`},
		{"Screa 250i", 2026, "EU", day(2026, 4), `no model "Screa 250i" of 2026 in EU; did you mean Scree 250i?`},
		{"", 2026, "EU", day(2026, 4), `no model "" of 2026 in EU`},
	} {
		r, err := l.InForce(test.model, test.year, test.market, test.asOf)
		got := ""
		if err != nil {
			got = err.Error()
		} else {
			got = r.Name()
		}
		if got != test.want {
			t.Errorf("%q %d %s %v: got %s, want %s", test.model, test.year, test.market, test.asOf, got, test.want)
		}
	}
}

func TestLibraryGet(t *testing.T) {
	l := testLibrary(t)
	if got := l.SpecIDs(); !slices.Equal(got, []string{"scree-250i-2026-eu", "scree-250i-2027-us", "talus-300-2026-eu"}) {
		t.Errorf("got %v", got)
	}
	revs, err := l.Revisions("scree-250i-2026-eu")
	if err != nil || len(revs) != 2 || revs[0].Number() != 2 || revs[1].Number() != 1 {
		t.Errorf("got %v, %v", revs, err)
	}
	for name, call := range map[string]func() error{
		"Revisions":   func() error { _, err := l.Revisions("scree-250-2026-eu"); return err },
		"Revision":    func() error { _, err := l.Revision("scree-250-2026-eu", 1); return err },
		"number":      func() error { _, err := l.Revision("scree-250i-2026-eu", 9); return err },
		"InForceByID": func() error { _, err := l.InForceByID("scree-250-2026-eu", time.Now()); return err },
	} {
		var missing *spec.NotFoundError
		if err := call(); !errors.As(err, &missing) || len(missing.Suggestions) == 0 {
			t.Errorf("%s: got %v", name, err)
		}
	}
	empty, err := spec.NewLibrary(nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := empty.LookUp(spec.Query{Model: "a", Words: "b"}); err == nil {
		t.Error("an empty library found something")
	}
}

func TestNewLibraryRefuses(t *testing.T) {
	base := testSheet(t)
	change := func(f func(s *pb.SpecSheet)) *spec.Revision {
		s := proto.Clone(base).(*pb.SpecSheet)
		s.Examples = nil
		f(s)
		r, err := spec.NewRevision(s)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	later := timestamppb.New(time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC))
	for name, test := range map[string]struct {
		other func(s *pb.SpecSheet)
		want  string // empty where they may stand together
	}{
		"gap":             {func(s *pb.SpecSheet) { s.Revision, s.EffectiveTime = 7, later }, ""},
		"same number":     {func(*pb.SpecSheet) {}, "specs/scree-250i-2026-eu/revisions/1: there are two revisions of this number"},
		"same time":       {func(s *pb.SpecSheet) { s.Revision = 2 }, "effective_time: specs/scree-250i-2026-eu/revisions/2: got 2025-10-01T00:00:00Z, want later than"},
		"other make":      {func(s *pb.SpecSheet) { s.Revision, s.EffectiveTime, s.Make = 2, later, "Other" }, "want the make, model year and market of revision 1"},
		"same model":      {func(s *pb.SpecSheet) { s.SpecId = "other" }, `other and scree-250i-2026-eu are both for a "Scree 250i" of 2026 in EU`},
		"same other name": {func(s *pb.SpecSheet) { s.SpecId, s.Model = "other", "Other" }, `other and scree-250i-2026-eu are both for a "Other" of 2026 in EU`},
		"other market":    {func(s *pb.SpecSheet) { s.SpecId, s.Market = "other", "GB" }, ""},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := spec.NewLibrary([]*spec.Revision{change(test.other), change(func(*pb.SpecSheet) {})})
			var invalid *spec.SheetError
			switch {
			case test.want == "" && err != nil:
				t.Error(err)
			case test.want != "" && (!errors.As(err, &invalid) || !strings.Contains(err.Error(), test.want)):
				t.Errorf("got %v, want %s", err, test.want)
			}
		})
	}
}
