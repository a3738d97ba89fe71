package main

import (
	"strings"
	"testing"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func TestPlaces(t *testing.T) {
	places := []batch.Place{
		{File: "a.jsonl", Line: 1}, {File: "a.jsonl", Line: 2}, {File: "a.jsonl", Line: 4}, {File: "b.csv", Line: 5},
		{File: "b.csv", Line: 6}, {File: "b.csv", Line: 6}, {File: "setups/a"}, {File: "setups/a"}, {File: "setups/b"},
	}
	var l placeList
	for i, place := range places {
		l.add(int64(i), place)
	}
	for i, want := range places {
		if file, line, ok := l.of(int64(i)); !ok || file != want.File || line != want.Line {
			t.Errorf("%d: got %s:%d, %v, want %v", i, file, line, ok, want)
		}
	}
	for _, i := range []int64{-1, int64(len(places))} {
		if _, _, ok := l.of(i); ok {
			t.Errorf("%d has a place", i)
		}
	}
	if _, _, ok := (*placeList)(nil).of(0); ok {
		t.Error("a record of no list has a place")
	}
}

// However many records there are, no more is held than so many runs; lines that
// follow one another are one.
func TestPlacesAreBounded(t *testing.T) {
	var one, many placeList
	for i := range int64(mostPlaces) + 100 {
		one.add(i, batch.Place{File: "a.jsonl", Line: i + 1})
		many.add(i, batch.Place{File: "long.csv", Line: 40*i + 2})
	}
	if _, line, ok := one.of(mostPlaces + 99); !ok || line != mostPlaces+100 || len(one.runs) != 1 {
		t.Errorf("got line %d, %v, of %d runs", line, ok, len(one.runs))
	}
	if _, line, ok := many.of(mostPlaces - 1); !ok || line != 40*(mostPlaces-1)+2 {
		t.Errorf("got line %d, %v", line, ok)
	}
	if _, _, ok := many.of(mostPlaces); ok || len(many.runs) != mostPlaces {
		t.Errorf("%d runs are held, want %d", len(many.runs), mostPlaces)
	}
}

// The examples of the summary are told by their lines, also after the audit began
// anew.
func TestAuditTellsWhereExamplesAre(t *testing.T) {
	f := newFakeAudit(t)
	f.deaths = []death{{2, dieAtOnce}}
	f.twist = func(_ int, e *pb.AuditEvent) {
		if s := e.GetSummary(); s != nil {
			s.Observations = []*pb.AuditObservation{{Because: "Worth a look.", ExampleIndices: []int64{0, 3, 4}}}
		}
	}
	first := writeFile(t, "first.jsonl", "\n"+strings.Repeat(recordLine(1, "mill-motors", "t1")+"\n", 3))
	second := writeFile(t, "second.jsonl", strings.Repeat(recordLine(1, "mill-motors", "t1")+"\n\n", 2))
	_, out, errs := f.cli(t, "audit", first, second)
	got := strings.Join(strings.Fields(out), " ")
	if want := "such as " + first + ":2, " + second + ":1, 3"; !strings.Contains(got, want) {
		t.Errorf("standard error %q, standard output lacks %q:\n%s", errs, want, out)
	}
	f.store = []*pb.SetupRecord{{Shop: "a", Technician: "t"}, {Shop: "a", Technician: "t"}, {Shop: "a", Technician: "t"}, {Shop: "a", Technician: "t"}, {Shop: "a", Technician: "t"}}
	_, out, _ = f.cli(t, "audit", "--stored")
	if got, want := strings.Join(strings.Fields(out), " "), "such as setups/n0, setups/n3, setups/n4"; !strings.Contains(got, want) {
		t.Errorf("standard output lacks %q:\n%s", want, out)
	}
}
