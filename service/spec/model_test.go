package spec_test

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/specs"
)

func TestLookUpModel(t *testing.T) {
	l := testLibrary(t)
	day := time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC)
	for _, test := range []struct {
		query spec.Query
		want  string // revision
		fails string
	}{
		{spec.Query{Model: "Scree 250i"}, "specs/scree-250i-2027-us/revisions/1", ""},
		{spec.Query{Model: "scree 20i"}, "specs/scree-250i-2027-us/revisions/1", ""},
		{spec.Query{Model: "scree 205i"}, "", "no model"},
		{spec.Query{Model: "scree 350i"}, "", "no model"},
		{spec.Query{Model: "SCREE-250I", Market: "EU"}, "specs/scree-250i-2026-eu/revisions/2", ""},
		{spec.Query{Model: "tarn works scree", ModelYear: 2026}, "specs/scree-250i-2026-eu/revisions/2", ""},
		{spec.Query{Model: "scree 2026"}, "specs/scree-250i-2026-eu/revisions/2", ""},
		{spec.Query{Model: "scree-250i-2026-eu", AsOf: day.AddDate(0, -11, 0)}, "specs/scree-250i-2026-eu/revisions/1", ""},
		// The newest model year is not in force yet.
		{spec.Query{Model: "scree", AsOf: day.AddDate(0, -6, 0)}, "specs/scree-250i-2026-eu/revisions/2", ""},
		{spec.Query{Model: "scree 250"}, "specs/scree-250i-2027-us/revisions/1", ""},
		{spec.Query{Model: "scree 2500i"}, "specs/scree-250i-2027-us/revisions/1", ""}, // a digit twice
		{spec.Query{Model: "scree 3"}, "", `no model "scree 3"; did you mean Scree 250i?`},
		{spec.Query{Model: "screee 2026"}, "specs/scree-250i-2026-eu/revisions/2", ""},
		{spec.Query{Model: "screee 2026", ModelYear: 2027}, "", `no model "screee 2026" of 2027`},
		{spec.Query{Model: "tarn wroks scree", Market: "EU"}, "specs/scree-250i-2026-eu/revisions/2", ""},
		{spec.Query{Model: "talsu"}, "specs/talus-300-2026-eu/revisions/1", ""},
		// The maker alone, which makes two models; only one of them in that market.
		{spec.Query{Model: "tarn works"}, "", `no single model "tarn works"; did you mean Scree 250i or Talus 300?`},
		{spec.Query{Model: "tran works 2026"}, "", `no single model "tran works 2026" of 2026; did you mean Scree 250i or Talus 300?`},
		{spec.Query{Model: "tarn works", Market: "US"}, "specs/scree-250i-2027-us/revisions/1", ""},
		{spec.Query{Model: "skree"}, "specs/scree-250i-2027-us/revisions/1", ""},
		{spec.Query{Model: "tal"}, "specs/talus-300-2026-eu/revisions/1", ""},
		{spec.Query{Model: "scree", ModelYear: 2001}, "", `no model "scree" of 2001; did you mean Scree 250i 2026 EU or Scree 250i 2027 US?`},
		{spec.Query{Model: "zzz"}, "", `no model "zzz"`},
		{spec.Query{Model: "---"}, "", `no model "---"`},
		{spec.Query{Model: "scree", AsOf: day.AddDate(-5, 0, 0)}, "", "was not in force on"},
		// The sheet that covers the unit is taken, not the newest.
		{spec.Query{Model: "scree", VIN: "0TWSC0000T1000123"}, "specs/scree-250i-2026-eu/revisions/2", ""},
		{spec.Query{Model: "screee", VIN: "0TWSC0000V1000123"}, "specs/scree-250i-2027-us/revisions/1", ""},
		{spec.Query{Model: "tarn works", VIN: "0TWTA0000T1000001"}, "specs/talus-300-2026-eu/revisions/1", ""},
		{spec.Query{Model: "scree", VIN: "0TWTA0000T1000001"}, "", `no sheet of model "scree" that covers the unit 0TWTA0000T1000001`},
		{spec.Query{Model: "scree-250i-2026-eu", VIN: "0TWSC0000V1000123"}, "", `no sheet of model "scree-250i-2026-eu" that covers the unit 0TWSC0000V1000123`},
		{spec.Query{Model: "scree", Market: "US", VIN: "nonsense"}, "", `no sheet of model "scree" in US that covers the unit nonsense`},
	} {
		t.Run(test.query.Model, func(t *testing.T) {
			test.query.Words = "idle"
			r, _, err := l.LookUp(test.query)
			switch {
			case test.fails != "":
				if err == nil || !strings.Contains(err.Error(), test.fails) {
					t.Errorf("got %v, %v, want %s", r, err, test.fails)
				}
				var missing *spec.NotFoundError
				var notYet *spec.NotInForceError
				if !errors.As(err, &missing) && !errors.As(err, &notYet) {
					t.Errorf("got a %T", err)
				}
			case err != nil || r.Name() != test.want:
				t.Errorf("got %v (%v), want %s", r, err, test.want)
			}
		})
	}
}

// TestLookUpModelTyping asks for the demo makers' models as people mistype them.
func TestLookUpModelTyping(t *testing.T) {
	revisions, err := spec.Load(specs.FS)
	if err != nil {
		t.Fatal(err)
	}
	l, err := spec.NewLibrary(revisions)
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		model   string
		want    string   // the model found
		suggest []string // where none is
	}{
		// No slip.
		{"scree 200", "Scree 200i", nil},
		{"scree200i", "Scree 200i", nil},
		{"varnholt scree", "Scree 200i", nil},
		{"Varnholt", "Scree 200i", nil},
		{"scree", "Scree 200i", nil},
		{"g300x", "Gannet 300X", nil},
		{"gla", "Glade E", nil},
		{"KESTWICK GLADE-E", "Glade E", nil},
		// One slip in the first words of a name, two in long ones.
		{"screee", "Scree 200i", nil},
		{"scere", "Scree 200i", nil},
		{"sceree 200", "Scree 200i", nil},
		{"cuaseway", "Causeway 400", nil},
		{"causway", "Causeway 400", nil},
		{"cuasewya", "Causeway 400", nil},
		{"kausewey", "Causeway 400", nil},
		{"gannett", "Gannet 300X", nil},
		{"heeron", "Heron 350F", nil},
		{"herrn", "Heron 350F", nil},
		{"hreon 350", "Heron 350F", nil},
		{"galde", "Glade E", nil},
		{"varnhlot scree", "Scree 200i", nil},
		{"varnholt sceree", "Scree 200i", nil},
		{"ulverdlae", "Causeway 400", nil},
		{"scree 20i", "Scree 200i", nil}, // a digit left out
		{"screee 2025", "Scree 200i", nil},
		// Too far to be sure of, near enough to ask.
		{"kauseay", "", []string{"Causeway 400"}},
		{"screch", "", []string{"Scree 200i"}},
		// Another number is another model.
		{"scree 250i", "", []string{"Scree 200i"}},
		{"screee 250", "", []string{"Scree 200i"}},
		{"scree 3", "", []string{"Scree 200i"}},
		{"gannet 250x", "", []string{"Gannet 300X"}},
		{"heron 530", "", []string{"Heron 350F"}},
		// The maker of two.
		{"brannick", "", []string{"Gannet 300X", "Heron 350F"}},
		{"branick", "", []string{"Gannet 300X", "Heron 350F"}},
		{"brannick 2025", "Heron 350F", nil},
		// Nothing like any.
		{"zzz", "", nil},
		{"zzzzzz", "", nil},
		{"x", "", nil},
		{"999", "", nil},
		{"zzz 2026", "", nil},
		{"motorcycle", "", nil},
		{strings.Repeat("scree", 40), "", nil},
	} {
		t.Run(test.model, func(t *testing.T) {
			r, _, err := l.LookUp(spec.Query{Model: test.model, Words: "idle"})
			var missing *spec.NotFoundError
			switch {
			case test.want != "":
				if err != nil || r.Sheet().GetModel() != test.want {
					t.Errorf("got %v (%v), want %s", r, err, test.want)
				}
			case !errors.As(err, &missing):
				t.Errorf("got %v (%v), want no model", r, err)
			case !slices.Equal(missing.Suggestions, test.suggest):
				t.Errorf("suggests %q, want %q", missing.Suggestions, test.suggest)
			}
		})
	}
}

// TestLookUpModelSingle has one maker with two models whose names begin alike.
func TestLookUpModelSingle(t *testing.T) {
	other := func(change func(s *pb.SpecSheet)) *spec.Revision {
		sheet := testSheet(t)
		sheet.Examples = nil
		change(sheet)
		r, err := spec.NewRevision(sheet)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	l, err := spec.NewLibrary([]*spec.Revision{
		other(func(s *pb.SpecSheet) { s.ModelAliases = nil }),
		other(func(s *pb.SpecSheet) {
			s.SpecId, s.Model, s.ModelAliases = "scree-400", "Scree 400", nil
			s.Vin = &pb.VinCoverage{Patterns: []string{"0TWSF????T1??????"}}
			s.Bulletins = nil
		}),
		// The model of another year, under a longer name.
		other(func(s *pb.SpecSheet) {
			s.SpecId, s.Model, s.ModelAliases, s.ModelYear = "scree-400-r", "Scree 400 Rally", []string{"Scree 400"}, 2027
			s.Vin = &pb.VinCoverage{Patterns: []string{"0TWSF????V1??????"}}
			s.Bulletins = nil
		}),
	})
	if err != nil {
		t.Fatal(err)
	}
	for model, want := range map[string]string{
		"scree 400":  "scree-400-r",
		"screee 400": "scree-400-r",
		"screee 250": "scree-250i-2026-eu",
		"scree":      `no single model "scree"; did you mean Scree 400 Rally or Scree 250i or Scree 400?`,
		"skree":      `no single model "skree"; did you mean Scree 400 Rally or Scree 250i or Scree 400?`,
		"scree 300":  `no model "scree 300"; did you mean Scree 400 or Scree 400 Rally or Scree 250i?`,
	} {
		r, _, err := l.LookUp(spec.Query{Model: model, Words: "idle", AsOf: time.Date(2030, 1, 1, 0, 0, 0, 0, time.UTC)})
		got := ""
		if err != nil {
			got = err.Error()
		} else {
			got = r.SpecID()
		}
		if got != want {
			t.Errorf("%q: got %s, want %s", model, got, want)
		}
	}
}
