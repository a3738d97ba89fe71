package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"google.golang.org/protobuf/encoding/protojson"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

const (
	testHTML = "<!DOCTYPE html>\n"
	testPDF  = "%PDF-1.3\n"
)

func TestSheetAsks(t *testing.T) {
	f := newFake(t)
	dir := t.TempDir()
	const (
		html, pdf  = pb.SheetFormat_SHEET_FORMAT_HTML, pb.SheetFormat_SHEET_FORMAT_PDF
		a4, letter = pb.PaperSize_PAPER_SIZE_A4, pb.PaperSize_PAPER_SIZE_LETTER
	)
	for i, test := range []struct {
		args   []string
		out    string // name of the file, in dir
		kind   pb.SheetKind
		format pb.SheetFormat
		paper  pb.PaperSize
	}{
		{[]string{"job", "causeway"}, "a.html", pb.SheetKind_SHEET_KIND_JOB, html, a4},
		{[]string{"job", "causeway"}, "b.pdf", pb.SheetKind_SHEET_KIND_JOB, pdf, a4},
		{[]string{"job", "causeway"}, "c.PDF", pb.SheetKind_SHEET_KIND_JOB, pdf, a4},
		{[]string{"job", "causeway", "--html"}, "d.pdf", pb.SheetKind_SHEET_KIND_JOB, html, a4},
		{[]string{"job", "causeway", "--pdf"}, "e", pb.SheetKind_SHEET_KIND_JOB, pdf, a4},
		{[]string{"job", "causeway", "--units", "us"}, "f.html", pb.SheetKind_SHEET_KIND_JOB, html, letter},
		{[]string{"job", "causeway", "--units", "us", "--paper", "a4"}, "g.html", pb.SheetKind_SHEET_KIND_JOB, html, a4},
		{[]string{"job", "--setup", "abc", "--paper", "letter"}, "h.html", pb.SheetKind_SHEET_KIND_JOB, html, letter},
		{[]string{"job", "--record", "testdata/accept.yaml"}, "i.html", pb.SheetKind_SHEET_KIND_JOB, html, a4},
		{[]string{"handover", "testdata/accept.yaml"}, "j.html", pb.SheetKind_SHEET_KIND_HANDOVER, html, a4},
		{[]string{"handover", "--setup", "setups/abc"}, "k.pdf", pb.SheetKind_SHEET_KIND_HANDOVER, pdf, a4},
	} {
		path := filepath.Join(dir, test.out)
		args := append(append([]string{"sheet"}, test.args...), "--out", path)
		code, out, errs := f.cli(t, args...)
		if code != 0 || errs != "" {
			t.Errorf("%v: exit code %d, standard error %q", test.args, code, errs)
			continue
		}
		if !strings.HasPrefix(out, "wrote "+path+", ") || !strings.HasSuffix(out, " B\n") {
			t.Errorf("%v: says %q", test.args, out)
		}
		if r := f.render; r.GetKind() != test.kind || r.GetFormat() != test.format || r.GetPaper() != test.paper {
			t.Errorf("%v: asked %v", test.args, r)
		}
		switch subject := f.render.GetSubject().(type) {
		case *pb.RenderSheetRequest_Plan:
			if subject.Plan.GetModel() != "causeway" {
				t.Errorf("%v: asked for the plan %v", test.args, subject.Plan)
			}
		case *pb.RenderSheetRequest_Setup:
			if subject.Setup != "setups/abc" {
				t.Errorf("%v: asked for %s", test.args, subject.Setup)
			}
		case *pb.RenderSheetRequest_Record:
			if subject.Record.GetUnit().GetModel() != "Causeway 400" {
				t.Errorf("%v: handed in %v", test.args, subject.Record)
			}
		default:
			t.Errorf("%d: asked for nothing", i)
		}
		want := testHTML
		if test.format == pdf {
			want = testPDF
		}
		if got, err := os.ReadFile(path); err != nil || string(got) != want {
			t.Errorf("%v: wrote %q, %v", test.args, got, err)
		}
	}
}

func TestSheetIsNamedByTheServer(t *testing.T) {
	f := newFake(t)
	t.Chdir(t.TempDir())
	code, out, _ := f.cli(t, "sheet", "job", "causeway", "--pdf")
	if code != 0 || out != "wrote snapgauge-job-causeway-400-2026.pdf, 9 B\n" {
		t.Errorf("exit code %d, standard output %q", code, out)
	}
	for _, name := range []string{"../job.html", "/tmp/job.html", "a/b.html", `a\b.html`, ".profile", "-rf", "job\x1b.html", "..", strings.Repeat("x", 300)} {
		f.fileName = name
		code, out, errs := f.cli(t, "sheet", "job", "causeway")
		if code != 2 || out != "" || !strings.Contains(errs, "name one with --out") || strings.Contains(errs, "\x1b") {
			t.Errorf("%q: exit code %d, standard output %q, standard error %q", name, code, out, errs)
		}
	}
	if left, err := os.ReadDir("."); err != nil || len(left) != 1 {
		t.Errorf("wrote %v, %v", left, err)
	}
}

func TestSheetIsNotOverwritten(t *testing.T) {
	f := newFake(t)
	t.Chdir(t.TempDir())
	const name, before = "snapgauge-job-causeway-400-2026.html", "something that was there before and is longer"
	for _, args := range [][]string{{}, {"--out", name}} {
		if err := os.WriteFile(name, []byte(before), 0o600); err != nil {
			t.Fatal(err)
		}
		args = append([]string{"sheet", "job", "causeway"}, args...)
		f.render = nil
		code, out, errs := f.cli(t, args...)
		if code != 2 || out != "" || errs != name+": is there already; --force overwrites it\n" {
			t.Errorf("%v: exit code %d, standard output %q, standard error %q", args, code, out, errs)
		}
		if got, err := os.ReadFile(name); err != nil || string(got) != before {
			t.Errorf("%v: the file now holds %q, %v", args, got, err)
		}
		if asked := f.render != nil; asked != (len(args) == 3) {
			t.Errorf("%v: asked the server: %v", args, asked)
		}
		if code, _, errs = f.cli(t, append(args, "--force")...); code != 0 {
			t.Errorf("--force: exit code %d, standard error %q", code, errs)
		}
		if got, err := os.ReadFile(name); err != nil || string(got) != testHTML {
			t.Errorf("--force: the file now holds %q, %v", got, err)
		}
	}
}

func TestSheetToStandardOutput(t *testing.T) {
	f := newFake(t)
	env := map[string]string{"SNAPGAUGE_SERVER": f.address}
	for _, test := range []struct {
		width int
		pdf   bool
		code  int
		out   string
	}{
		{0, false, 0, testHTML},
		{0, true, 0, testPDF},
		{80, false, 0, testHTML},
		{80, true, 2, ""}, // a terminal cannot show it
	} {
		args := []string{"sheet", "job", "causeway", "--out", "-"}
		if test.pdf {
			args = append(args, "--pdf")
		}
		code, out, errs := run(t, world{env: env, width: test.width}, args...)
		if code != test.code || out != test.out || (errs == "") != (code == 0) {
			t.Errorf("%+v: exit code %d, standard output %q, standard error %q", test, code, out, errs)
		}
	}
}

// As JSON it is the API's message, and no file is written.
func TestSheetAsJSON(t *testing.T) {
	f := newFake(t)
	data, err := os.ReadFile("testdata/accept.yaml")
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	w := world{env: map[string]string{"SNAPGAUGE_SERVER": f.address}, stdin: string(data)}
	code, out, _ := run(t, w, "sheet", "handover", "-", "-o", "json")
	answer := new(pb.RenderSheetResponse)
	if err := protojson.Unmarshal([]byte(out), answer); code != 0 || err != nil || string(answer.GetContent()) != testHTML {
		t.Errorf("exit code %d, %v, standard output %q", code, err, out)
	}
	if left, err := os.ReadDir("."); err != nil || len(left) > 0 {
		t.Errorf("wrote %v, %v", left, err)
	}
}

func TestSize(t *testing.T) {
	for bytes, want := range map[int]string{0: "0 B", 999: "999 B", 1000: "1 kB", 1001: "2 kB", 123456: "124 kB"} {
		if got := size(bytes); got != want {
			t.Errorf("%d: got %q, want %q", bytes, got, want)
		}
	}
}
