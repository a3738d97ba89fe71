package spec_test

import (
	"fmt"
	"os"
	"reflect"
	"slices"
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
				if err != nil || !reflect.DeepEqual(again, matches) {
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
