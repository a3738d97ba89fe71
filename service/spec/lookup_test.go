package spec_test

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"go.yaml.in/yaml/v3"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
)

func TestLookUp(t *testing.T) {
	data, err := os.ReadFile("testdata/lookup.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var tests []struct {
		Model   string
		Words   string
		Options []string
		AsOf    time.Time `yaml:"as_of"`
		First   string
		Not     string
		None    bool
		Any     bool // First may be anything: only that something is found counts
	}
	if err := yaml.Unmarshal(data, &tests); err != nil {
		t.Fatal(err)
	}
	l := testLibrary(t)
	for _, test := range tests {
		t.Run(test.Words, func(t *testing.T) {
			q := spec.Query{Model: test.Model, Words: test.Words, Options: test.Options, AsOf: test.AsOf}
			if q.Model == "" {
				q.Model = "scree"
				q.ModelYear = 2026
			}
			_, matches, err := l.LookUp(q)
			if err != nil {
				t.Fatal(err)
			}
			var ids []string
			for _, m := range matches {
				ids = append(ids, m.Characteristic.GetId())
				if m.Score <= 0 || m.Score > 1 {
					t.Errorf("%s has the score %v", m.Characteristic.GetId(), m.Score)
				}
			}
			if !slices.IsSortedFunc(matches, func(a, b spec.Match) int {
				return -int(a.Score*1e6) + int(b.Score*1e6)
			}) {
				t.Errorf("not best first: %v", matches)
			}
			switch {
			case test.None && len(ids) > 0:
				t.Errorf("got %v, want nothing", ids)
			case test.Not != "" && slices.Contains(ids, test.Not):
				t.Errorf("got %v, want no %s", ids, test.Not)
			case test.First != "" && len(ids) == 0:
				t.Errorf("got nothing, want %s", test.First)
			case test.First != "" && !test.Any && ids[0] != test.First:
				t.Errorf("got %v, want %s first", ids, test.First)
			}
			for range 3 {
				_, again, err := l.LookUp(q)
				if err != nil || !slices.Equal(again, matches) {
					t.Fatalf("got %v (%v), before %v", again, err, matches)
				}
			}
		})
	}
}

func TestLookUpScore(t *testing.T) {
	l := testLibrary(t)
	for _, words := range []string{"seat height", "front tyre pressure", "the chain slack"} {
		_, matches, err := l.LookUp(spec.Query{Model: "scree", Words: words, Max: 1})
		if err != nil || len(matches) != 1 || matches[0].Score != 1 {
			t.Errorf("%q: got %v (%v), want one match with score 1", words, matches, err)
		}
	}
}

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
		{spec.Query{Model: "skree"}, "specs/scree-250i-2027-us/revisions/1", ""},
		{spec.Query{Model: "tal"}, "specs/talus-300-2026-eu/revisions/1", ""},
		{spec.Query{Model: "scree", ModelYear: 2001}, "", `no model "scree" of 2001; did you mean Scree 250i 2026 EU or Scree 250i 2027 US?`},
		{spec.Query{Model: "zzz"}, "", `no model "zzz"`},
		{spec.Query{Model: "---"}, "", `no model "---"`},
		{spec.Query{Model: "scree", AsOf: day.AddDate(-5, 0, 0)}, "", "was not in force on"},
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

// BenchmarkLookUp looks in a sheet of 120 characteristics.
func BenchmarkLookUp(b *testing.B) {
	sheet := testSheet(b)
	for i := len(sheet.Characteristics); i < 120; i++ {
		ch := proto.Clone(sheet.Characteristics[i%30]).(*pb.Characteristic)
		ch.Id = fmt.Sprintf("%s_%d", ch.Id, i)
		ch.DisplayName = fmt.Sprintf("%s, place%d", ch.DisplayName, i)
		ch.Method = fmt.Sprintf("Take part%d off and measure with gauge%d where mark%d is.", i, i*7, i*13)
		ch.Prerequisites = nil
		sheet.Characteristics = append(sheet.Characteristics, ch)
	}
	r, err := spec.NewRevision(sheet)
	if err != nil {
		b.Fatal(err)
	}
	l, err := spec.NewLibrary([]*spec.Revision{r})
	if err != nil {
		b.Fatal(err)
	}
	for name, q := range map[string]spec.Query{
		"words":  {Model: "Scree 250i", Words: "what is the drain bolt"},
		"typos":  {Model: "skree 20i", Words: "how much geerbox oyl injektion tnak"},
		"prefix": {Model: "scree", Words: "susp reb cli"},
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, _, err := l.LookUp(q); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkResolve(b *testing.B) {
	r := testRevision(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := r.Resolve([]string{"tank_guard", "long_range_tank", "hydraulic_clutch"}, []string{"b2026_01"}); err != nil {
			b.Fatal(err)
		}
	}
}
