package render

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
	"github.com/snapgauge/snapgauge/service/quantity"
	"google.golang.org/protobuf/proto"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares with testdata/golden/{name}.txt.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", "golden", name+".txt")
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s differs (-want +got); go test -update writes it anew:\n%s", path, diff)
	}
}

func read(t *testing.T, name string, m proto.Message) {
	t.Helper()
	path := filepath.Join("testdata", name+".yaml")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := document.Decode(data, m, document.Options{Name: path}); err != nil {
		t.Fatal(err)
	}
}

var looks = []struct {
	name    string
	options Options
}{
	{"80-plain", Options{Width: 80}},
	{"80-colour", Options{Width: 80, Ink: true}},
	{"80-us", Options{Width: 80, Units: quantity.USCustomary}},
	{"120-plain", Options{Width: 120}},
	{"40-plain", Options{Width: 40}},
}

func TestReportGolden(t *testing.T) {
	for _, name := range []string{"reject", "accept", "refer"} {
		setup := new(pb.Setup)
		read(t, name, setup)
		for _, look := range looks {
			t.Run(name+"/"+look.name, func(t *testing.T) {
				got := Report(Judged{
					Record: setup.GetRecord(), Report: setup.GetReport(), Origin: name + ".yaml",
					Where: func(path string) string {
						if strings.Contains(path, "axle") {
							return ""
						}
						return fmt.Sprintf("line %d", len(path))
					},
				}, look.options)
				golden(t, "report-"+name+"-"+look.name, got)
				fits(t, got, look.options.Width)
			})
		}
	}
}

func TestFullReportGolden(t *testing.T) {
	for _, name := range []string{"reject", "accept"} {
		setup := new(pb.Setup)
		read(t, name, setup)
		got := Report(Judged{Record: setup.GetRecord(), Report: setup.GetReport(), Origin: name + ".yaml", Full: true}, looks[0].options)
		golden(t, "full-"+name, got)
		fits(t, got, looks[0].options.Width)
	}
}

// Colour must not carry anything: without it, the words are the same.
func TestColourOnlyRepeats(t *testing.T) {
	for _, name := range []string{"reject", "accept", "refer"} {
		setup := new(pb.Setup)
		read(t, name, setup)
		j := Judged{Record: setup.GetRecord(), Report: setup.GetReport(), Full: true}
		plain, coloured := Report(j, Options{Width: 80}), Report(j, Options{Width: 80, Ink: true})
		if strings.Contains(plain, "\x1b") {
			t.Errorf("%s: escape sequence in plain text", name)
		}
		if plain == coloured {
			t.Errorf("%s: no colour in coloured text", name)
		}
		if got := decolour(coloured); got != plain {
			t.Errorf("%s: differs without its colour:\n%s", name, cmp.Diff(plain, got))
		}
	}
}

func decolour(s string) string {
	var b strings.Builder
	for {
		before, after, found := strings.Cut(s, "\x1b[")
		b.WriteString(before)
		if !found {
			return b.String()
		}
		_, s, _ = strings.Cut(after, "m")
	}
}

func fits(t *testing.T, text string, width int) {
	t.Helper()
	for i, line := range strings.Split(text, "\n") {
		if w := layout.Width(line); w > width {
			t.Errorf("line %d takes %d cells, want at most %d: %q", i+1, w, width, line)
		}
		if strings.HasSuffix(line, " ") {
			t.Errorf("line %d ends in a blank: %q", i+1, line)
		}
	}
}
