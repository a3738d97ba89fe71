package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/encoding/protojson"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func TestCheckShowsEachFile(t *testing.T) {
	f := newFake(t)
	code, out, _ := f.cli(t, "check", "testdata/reject.yaml", "testdata/nosuch.yaml", "testdata/accept.yaml")
	if code != 2 {
		t.Errorf("exit code %d, want 2", code)
	}
	want := `REJECT    Causeway 400 2026 US, pre-delivery, sheet revision 2
          VIN 0ULCW4DS7T0000123, testdata/reject.yaml

DAMAGE    Engine oil fill                                  FILL_ABOVE_SAFE_LEVEL
          measured 1.56 L, limit 1.3 L, over by 0.26 L
          Engine oil fill is 1.56 L; above 1.3 L it overflows when the machine
          leans on its stand.
          do: Drain 310 mL, down to 1.25 L.
          Invented demo data, workshop handbook 4.2; line 7

1 conforming, 1 nonconforming
as expected

ACCEPT    Causeway 400 2026 US, pre-delivery, sheet revision 2
          VIN 0ULCW4DS7T0000123, testdata/accept.yaml

2 conforming
as expected
`
	if diff := cmp.Diff(want, out); diff != "" {
		t.Errorf("standard output (-want +got):\n%s", diff)
	}
}

func TestUnits(t *testing.T) {
	f := newFake(t)
	env := map[string]string{"SNAPGAUGE_SERVER": f.address}
	const us = "measured 1.648 qt, limit 1.374 qt, over by 0.275 qt"
	_, out, _ := run(t, world{env: env}, "check", "--units", "us", "testdata/reject.yaml")
	if !strings.Contains(out, us) || f.validate.GetUnitSystem() != pb.UnitSystem_UNIT_SYSTEM_US {
		t.Errorf("--units us: asked for %s, shows:\n%s", f.validate.GetUnitSystem(), out)
	}
	env["SNAPGAUGE_UNITS"] = "us"
	if _, out, _ = run(t, world{env: env}, "check", "testdata/reject.yaml"); !strings.Contains(out, us) {
		t.Errorf("SNAPGAUGE_UNITS=us shows:\n%s", out)
	}
	if _, out, _ = run(t, world{env: env}, "check", "--units", "metric", "testdata/reject.yaml"); strings.Contains(out, "qt") {
		t.Errorf("the flag does not go before the environment:\n%s", out)
	}
	env["SNAPGAUGE_UNITS"] = "cubits"
	if code, _, errs := run(t, world{env: env}, "specs"); code != 2 || !strings.Contains(errs, "SNAPGAUGE_UNITS") {
		t.Errorf("SNAPGAUGE_UNITS=cubits: exit code %d, standard error %q", code, errs)
	}
}

func TestColour(t *testing.T) {
	f := newFake(t)
	for _, test := range []struct {
		name   string
		env    map[string]string
		width  int
		flag   string
		colour bool
	}{
		{"terminal", nil, 80, "auto", true},
		{"pipe", nil, 0, "auto", false},
		{"NO_COLOR", map[string]string{"NO_COLOR": "1"}, 80, "auto", false},
		{"empty NO_COLOR", map[string]string{"NO_COLOR": ""}, 80, "auto", true},
		{"dumb terminal", map[string]string{"TERM": "dumb"}, 80, "auto", false},
		{"always", map[string]string{"NO_COLOR": "1"}, 0, "always", true},
		{"never", nil, 80, "never", false},
	} {
		t.Run(test.name, func(t *testing.T) {
			env := map[string]string{"SNAPGAUGE_SERVER": f.address}
			for k, v := range test.env {
				env[k] = v
			}
			_, out, _ := run(t, world{env: env, width: test.width}, "check", "--color", test.flag, "testdata/reject.yaml")
			if got := strings.Contains(out, "\x1b["); got != test.colour {
				t.Errorf("colour %t, want %t", got, test.colour)
			}
		})
	}
}

func TestStandardInput(t *testing.T) {
	f := newFake(t)
	data, err := os.ReadFile("testdata/reject.yaml")
	if err != nil {
		t.Fatal(err)
	}
	env := map[string]string{"SNAPGAUGE_SERVER": f.address}
	for _, test := range []struct {
		name, stdin string
		code        int
		errs        string
	}{
		{"record", string(data), 1, ""},
		{"empty", "", 2, "standard input: the document is empty"},
		{"noise", "\x00\xff\x01", 2, "standard input:1:1: "},
		{"too large", strings.Repeat("# noise\n", 1<<18), 2, "standard input: too large"},
		{"NaN", strings.Replace(string(data), "1.56", ".nan", 1), 2, "standard input:7:46: "},
		{"bomb", "a: &a [x,x]\nb: &b [*a,*a]\nc: [*b,*b]\n", 2, "standard input:"},
	} {
		t.Run(test.name, func(t *testing.T) {
			code, out, errs := run(t, world{env: env, stdin: test.stdin}, "check", "-")
			if code != test.code || !strings.Contains(errs, test.errs) || test.errs == "" && errs != "" {
				t.Errorf("exit code %d, want %d; standard error %q, want %q", code, test.code, errs, test.errs)
			}
			if (out == "") != (code == 2) {
				t.Errorf("standard output %q", out)
			}
		})
	}
}

// No more than the largest record is read of an endless file.
func TestEndlessInput(t *testing.T) {
	endless := filepath.Join("/dev", "zero")
	if _, err := os.Stat(endless); err != nil {
		t.Skip("this system has no endless file")
	}
	f := newFake(t)
	if code, _, errs := f.cli(t, "check", endless); code != 2 || !strings.Contains(errs, "too large") {
		t.Errorf("exit code %d, standard error %q", code, errs)
	}
}

func TestJSONIsStableAndTheMessage(t *testing.T) {
	f := newFake(t)
	_, first, _ := f.cli(t, "check", "-o", "json", "testdata/reject.yaml")
	_, again, _ := f.cli(t, "check", "-o", "json", "testdata/reject.yaml")
	if first != again {
		t.Error("the same answer has different bytes")
	}
	answer := new(pb.ValidateSetupResponse)
	if err := protojson.Unmarshal([]byte(first), answer); err != nil {
		t.Fatal(err)
	}
	if answer.GetReport().GetVerdict() != pb.Verdict_VERDICT_REJECT {
		t.Errorf("verdict %s", answer.GetReport().GetVerdict())
	}
	if !strings.HasPrefix(first, "{\n  \"report\": {\n") {
		t.Errorf("not indented as promised:\n%s", first)
	}
}

// JSON is often one line, so that the line alone finds nothing.
func TestPlaceInJSON(t *testing.T) {
	f := newFake(t)
	data, err := os.ReadFile("testdata/accept.json")
	if err != nil {
		t.Fatal(err)
	}
	oneLine := strings.ReplaceAll(strings.Replace(string(data), "1.2", "1.56", 1), "\n", "")
	w := world{env: map[string]string{"SNAPGAUGE_SERVER": f.address}, stdin: oneLine}
	if _, out, _ := run(t, w, "check", "-"); !strings.Contains(out, "handbook 4.2; line 1, column 280\n") {
		t.Errorf("standard output:\n%s", out)
	}
}

func TestExpectationNotMet(t *testing.T) {
	f := newFake(t)
	data, err := os.ReadFile("testdata/reject.yaml")
	if err != nil {
		t.Fatal(err)
	}
	wrong := strings.Replace(string(data), "verdict: reject, codes: [fill_above_safe_level]", "verdict: accept, codes: [undecided]", 1)
	w := world{env: map[string]string{"SNAPGAUGE_SERVER": f.address}, stdin: wrong}
	code, out, errs := run(t, w, "check", "--expect", "-")
	const want = "not as expected: wanted ACCEPT, got REJECT; did not get UNDECIDED; got as well\n    FILL_ABOVE_SAFE_LEVEL\n"
	if code != 1 || !strings.Contains(out, want) || errs != "" {
		t.Errorf("exit code %d, standard error %q, standard output:\n%s", code, errs, out)
	}
	code, _, errs = run(t, w, "check", "--expect", "-o", "json", "-")
	if code != 1 || !strings.HasPrefix(errs, "standard input: not as expected: wanted ACCEPT") {
		t.Errorf("JSON: exit code %d, standard error %q", code, errs)
	}
}

func TestCheckAsks(t *testing.T) {
	f := newFake(t)
	f.cli(t, "check", "--full", "--as-of", "2026-05-01T10:00:00+02:00", "--known", "2026-04-01", "testdata/accept.yaml")
	if got := f.validate.GetKnownTime().AsTime().String(); got != "2026-04-01 00:00:00 +0000 UTC" {
		t.Errorf("known %s", got)
	}
	if got := f.validate.GetAsOfTime().AsTime().String(); got != "2026-05-01 08:00:00 +0000 UTC" {
		t.Errorf("as of %s", got)
	}
	if f.validate.GetView() != pb.ReportView_REPORT_VIEW_FULL {
		t.Errorf("view %s", f.validate.GetView())
	}
}
