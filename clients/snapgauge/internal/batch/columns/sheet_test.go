package columns

import (
	"os"
	"strings"
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
)

// sheet is one of the demo sheets.
func sheet(t testing.TB) *pb.SpecSheet {
	t.Helper()
	const file = "../../../../../specs/sheets/varnholt-scree-200i/2025-eu-r1.yaml"
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var m pb.SheetFile
	if _, err := document.Decode(data, &m, document.Options{Name: file, MaxBytes: document.SheetMaxBytes}); err != nil {
		t.Fatal(err)
	}
	if m.GetSheet() == nil {
		t.Fatalf("%s is no whole sheet", file)
	}
	return m.GetSheet()
}

// parsed is a map that must be right.
func parsed(t testing.TB, text string) *Map {
	t.Helper()
	m, err := Parse([]byte(text), "map.yaml")
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return m
}

// rows makes results of rows whose cells stand between bars, the header first; a
// row "!" is one that cannot be read.
func rows(t testing.TB, m *Map, lines ...string) []Result {
	t.Helper()
	var results []Result
	cut := func(line string) []string { return strings.Split(line, "|") }
	table, err := m.Bind("jobs.csv", cut(lines[0]), func(r Result) { results = append(results, r) })
	if err != nil {
		t.Fatal(err)
	}
	for i, line := range lines[1:] {
		if line == "!" {
			table.Broken(int64(i+2), "is broken")
			continue
		}
		var cells []Cell
		for _, text := range cut(line) {
			cells = append(cells, Text(text))
		}
		table.Row(int64(i+2), cells)
	}
	table.End()
	return results
}

// record is what a YAML record says.
func recordOf(t testing.TB, text string) *pb.SetupRecord {
	t.Helper()
	m := new(pb.SetupRecord)
	if _, err := document.Decode([]byte(text), m, document.Options{}); err != nil {
		t.Fatal(err)
	}
	return m
}
