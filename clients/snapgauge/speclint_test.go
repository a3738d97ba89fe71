package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
)

// newSpecs are three sheets of one spec that is published nowhere, each made from
// the one before.
var newSpecs = map[string]string{
	"r1.yaml": "sheet: {spec_id: marten-250t-2026-eu, revision: 1, change_note: First.}\n",
	"r2.yaml": "derived:\n  base_spec_id: marten-250t-2026-eu\n  base_revision: 1\n  head: {revision: 2, change_note: Second.}\n",
	"r3.yaml": "derived:\n  base_spec_id: marten-250t-2026-eu\n  base_revision: 2\n  head: {revision: 3, change_note: Third.}\n",
}

func writeSpecs(t *testing.T) (at func(name string) string) {
	t.Helper()
	dir := t.TempDir()
	for name, text := range newSpecs {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return func(name string) string { return filepath.Join(dir, name) }
}

// With each file go those that it builds on and follows on, and no others.
func TestLintSendsWhatIsNeeded(t *testing.T) {
	f := newFake(t)
	at := writeSpecs(t)
	f.cli(t, "specs", "lint", at("r3.yaml"), at("r1.yaml"), "testdata/sheets/good.yaml", at("r2.yaml"))
	var got []string
	for _, r := range f.publish {
		var refs []string
		for _, assumed := range r.GetAssumedFiles() {
			refs = append(refs, (&specFile{sheet: assumed}).ref().String())
		}
		got = append(got, (&specFile{sheet: r.GetFile()}).ref().String()+": "+strings.Join(refs, " "))
	}
	want := `marten-250t-2026-eu@3: marten-250t-2026-eu@2 marten-250t-2026-eu@1
marten-250t-2026-eu@1: 
ulverdale-causeway-400-2026-us@3: 
marten-250t-2026-eu@2: marten-250t-2026-eu@1`
	if s := strings.Join(got, "\n"); s != want {
		t.Errorf("sent\n%s\nwant\n%s", s, want)
	}
}

// What is wrong with a base is told once, at its own place.
func TestLintTellsAtTheFileAtFault(t *testing.T) {
	f := newFake(t)
	at := writeSpecs(t)
	f.refusePublish = withDetails(codes.InvalidArgument, "the sheet is wrong", &errdetails.BadRequest{FieldViolations: []*errdetails.BadRequest_FieldViolation{
		{Field: "assumed_files[1].sheet.revision", Description: "is wrong"},
		{Field: "assumed_files[0].derived.base_revision", Description: "is wrong"},
		{Field: "file.derived.head.change_note", Description: "is wrong"},
	}})
	_, out, errs := f.cli(t, "specs", "lint", at("r3.yaml"), at("r1.yaml"), at("r2.yaml"))
	lines := strings.Split(errs, "\n")
	want := []string{
		at("r3.yaml") + ":4:36: derived.head.change_note: is wrong",
		at("r2.yaml") + ":3:18: derived.base_revision: is wrong",
		at("r1.yaml") + ":1:49: sheet.revision: is wrong",
	}
	for i, one := range want {
		if i >= len(lines) || lines[i] != one {
			t.Errorf("line %d of %q, want %q", i, errs, one)
		}
	}
	if out != "" || strings.Count(errs, want[1]) != 1 {
		t.Errorf("standard error %q, standard output %q", errs, out)
	}

	f.refusePublish = withDetails(codes.FailedPrecondition, "there is no such base", &errdetails.ErrorInfo{
		Reason: "BASE_NOT_FOUND", Metadata: map[string]string{"field": "assumed_files[0].derived.base_spec_id"}})
	code, _, errs := f.cli(t, "specs", "lint", at("r3.yaml"), at("r2.yaml"))
	if want := at("r2.yaml") + ":2:17: there is no such base\n"; code != 2 || !strings.HasPrefix(errs, want) {
		t.Errorf("exit code %d, standard error %q, want %q", code, errs, want)
	}
}

// Of two files that are the same revision, nobody knows which is built on.
func TestLintOfABaseThatIsGivenTwice(t *testing.T) {
	f := newFake(t)
	at := writeSpecs(t)
	again := filepath.Join(t.TempDir(), "again.yaml")
	if err := os.WriteFile(again, []byte(newSpecs["r1.yaml"]), 0o600); err != nil {
		t.Fatal(err)
	}
	code, _, errs := f.cli(t, "specs", "lint", at("r2.yaml"), at("r1.yaml"), again)
	want := at("r2.yaml") + ":2:17: marten-250t-2026-eu@1 is in " + at("r1.yaml") + " and in " + again + "; want one of them\n"
	if code != 2 || !strings.HasPrefix(errs, want) {
		t.Errorf("exit code %d, standard error %q, want %q", code, errs, want)
	}
}

func TestLintAgainstAServer(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a server")
	}
	dir := t.TempDir()
	address := startServer(t, dir)
	derived := filepath.Join(dir, "a-derived.yaml")
	base := filepath.Join(dir, "base.yaml")
	sheet, err := os.ReadFile("../../specs/sheets/brannick-gannet-300x/2026-eu-r1.yaml")
	if err != nil {
		t.Fatal(err)
	}
	text := strings.NewReplacer("brannick-gannet-300x-2026-eu", "brannick-gannet-300x-2031-eu", "model_year: 2026", "model_year: 2031").Replace(string(sheet))
	write := func(name, text string) {
		t.Helper()
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write(base, text)
	write(derived, `derived:
  base_spec_id: brannick-gannet-300x-2031-eu
  base_revision: 1
  head:
    revision: 2
    effective_time: 2031-06-01T00:00:00Z
    change_note: Said anew.
`)
	lint := func(files ...string) (int, string, string) {
		return run(t, world{env: map[string]string{"SNAPGAUGE_SERVER": address}}, append([]string{"specs", "lint"}, files...)...)
	}
	for _, order := range [][]string{{derived, base}, {base, derived}} {
		code, out, errs := lint(order...)
		if code != 0 || strings.Count(out, "nothing is wrong with") != 2 {
			t.Errorf("exit code %d, standard output %q, standard error %q", code, out, errs)
		}
	}
	if code, _, errs := lint(derived); code != 2 || !strings.HasPrefix(errs, derived+":2:17: there is no ") {
		t.Errorf("alone: exit code %d, standard error %q", code, errs)
	}
	write(base, strings.Replace(text, "unit: N.m", "unit: mm", 1))
	code, out, errs := lint(derived, base)
	if code != 2 || out != "" || !strings.HasPrefix(errs, base+":") || strings.Contains(errs, derived) {
		t.Errorf("wrong base: exit code %d, standard output %q, standard error %q", code, out, errs)
	}
	_, _, alone := lint(base)
	if errs != alone {
		t.Errorf("got %q, want %q as of the base alone", errs, alone)
	}
}

// startServer builds and starts a server on a store of its own.
func startServer(t *testing.T, dir string) (address string) {
	t.Helper()
	buildServer(t, dir)
	server := &killable{dir: dir, address: freeAddress(t)}
	server.start(t)
	t.Cleanup(server.kill)
	return server.address
}
