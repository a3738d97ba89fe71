package main

import (
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func TestParseSpec(t *testing.T) {
	for typed, want := range map[string]string{
		"a-1":                     "specs/a-1",
		"a-1@2":                   "specs/a-1/revisions/2",
		"specs/a-1":               "specs/a-1",
		"specs/a-1@2":             "specs/a-1/revisions/2",
		"specs/a-1/revisions/999": "specs/a-1/revisions/999",
		"":                        "", "A": "", "a@": "", "a@0": "", "a@x": "", "a@1@2": "", "specs/a/revisions/": "", "a b": "", "a/b": "", "a@1234567": "", "a\n": "",
		strings.Repeat("a", 64): "",
	} {
		ref, err := parseSpec(typed)
		if got := ref.name(); err == nil && got != want || (err == nil) != (want != "") {
			t.Errorf("%q: got %q, %v, want %q", typed, got, err, want)
		}
	}
}

func TestHistory(t *testing.T) {
	f := newFake(t)
	_, out, _ := f.cli(t, "specs", "history", "ulverdale-causeway-400-2026-us")
	want := `revision 2  in force            effective 2026-04-01, recorded 2026-05-04 09:00Z
  Chain slack corrected.
  Invented demo data: handbook, issue 2; 5 characteristics
  sha256 bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb

revision 1  superseded          effective 2026-01-01, recorded 2026-01-01 00:00Z
  First issue.
  Invented demo data: handbook, issue 1; 4 characteristics
  sha256 aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa
`
	if diff := cmp.Diff(want, out); diff != "" {
		t.Errorf("standard output (-want +got):\n%s", diff)
	}
}

func TestDiffAsks(t *testing.T) {
	f := newFake(t)
	const spec = "ulverdale-causeway-400-2026-us"
	for _, test := range []struct {
		args         []string
		base, target string
	}{
		{[]string{spec}, specName + "/revisions/1", specName + "/revisions/2"},
		{[]string{spec + "@2"}, specName + "/revisions/1", specName + "/revisions/2"},
		{[]string{spec + "@2", "@1"}, specName + "/revisions/2", specName + "/revisions/1"},
		{[]string{specName + "/revisions/1", spec}, specName + "/revisions/1", specName},
	} {
		code, out, errs := f.cli(t, append([]string{"specs", "diff", "--units", "us"}, test.args...)...)
		if code != 0 || !strings.Contains(out, "loosened   Chain slack\n           upper limit  45 mm → 50 mm\n") {
			t.Errorf("%v: exit code %d, standard error %q, standard output:\n%s", test.args, code, errs, out)
		}
		want := &pb.DiffSpecsRequest{Base: test.base, Target: test.target, UnitSystem: pb.UnitSystem_UNIT_SYSTEM_US}
		if !proto.Equal(f.diff, want) {
			t.Errorf("%v: asked %v, want %v", test.args, f.diff, want)
		}
	}
}

func TestOptionsAsks(t *testing.T) {
	f := newFake(t)
	_, out, _ := f.cli(t, "specs", "options", "ulverdale-causeway-400-2026-us@2", "big_tank", "small_tank")
	want := `they do not go together: 1 reason
ulverdale-causeway-400-2026-us@2 with big_tank, small_tank

1  Big tank and Small tank exclude each other.
   cause: big_tank, small_tank
   do: Take off Small tank.
`
	if diff := cmp.Diff(want, out); diff != "" {
		t.Errorf("standard output (-want +got):\n%s", diff)
	}
	if want := (&pb.CheckOptionsRequest{Name: revisionName, Options: []string{"big_tank", "small_tank"}}); !proto.Equal(f.options, want) {
		t.Errorf("asked %v, want %v", f.options, want)
	}
}

func TestPublish(t *testing.T) {
	f := newFake(t)
	_, out, _ := f.cli(t, "specs", "publish", "testdata/sheets/good.yaml")
	want := `published ulverdale-causeway-400-2026-us@3, in force from 2026-06-01
  Rear axle nut tightened.
  sha256 cccccccccccccccccccccccccccccccccccccccccccccccccccccccccccccccc
`
	if diff := cmp.Diff(want, out); diff != "" {
		t.Errorf("standard output (-want +got):\n%s", diff)
	}
	if r := f.publish[0]; r.GetEtag() != "etag-2" || r.GetValidateOnly() || r.GetFile().GetSheet().GetRevision() != 3 {
		t.Errorf("asked %v", r)
	}
	_, out, _ = f.cli(t, "specs", "publish", "--dry-run", "--etag", "etag-2", "testdata/sheets/derived.yaml")
	if !strings.HasPrefix(out, "nothing is wrong with ulverdale-causeway-400-2026-us@3, in force from 2026-06-01\n") {
		t.Errorf("--dry-run says:\n%s", out)
	}
	if r := f.publish[1]; r.GetEtag() != "etag-2" || !r.GetValidateOnly() || r.GetFile().GetDerived() == nil {
		t.Errorf("--dry-run asked %v", r)
	}
}

func TestPublishedBefore(t *testing.T) {
	f := newFake(t)
	data := replaced(t, "testdata/sheets/good.yaml", "revision: 3", "revision: 2")
	code, out, _ := run(t, world{env: map[string]string{"SNAPGAUGE_SERVER": f.address}, stdin: data}, "specs", "publish", "-")
	if code != 0 || !strings.HasPrefix(out, "was published before: ulverdale-causeway-400-2026-us@2,") {
		t.Errorf("exit code %d, standard output:\n%s", code, out)
	}
}

// A spec that is not there yet has no etag, and one that cannot be is told of by
// PublishSpec.
func TestPublishFirst(t *testing.T) {
	f := newFake(t)
	for _, id := range []string{"marten-250t-2026-eu", `""`, "No Such"} {
		data := replaced(t, "testdata/sheets/good.yaml", "ulverdale-causeway-400-2026-us", id)
		run(t, world{env: map[string]string{"SNAPGAUGE_SERVER": f.address}, stdin: data}, "specs", "publish", "-")
		if last := f.publish[len(f.publish)-1]; last.GetEtag() != "" {
			t.Errorf("%s: etag %q", id, last.GetEtag())
		}
	}
	if len(f.publish) != 3 {
		t.Errorf("asked %d times", len(f.publish))
	}
}

func replaced(t *testing.T, file, before, after string) string {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return strings.Replace(string(data), before, after, 1)
}

func TestEveryFaultOfASheetIsTold(t *testing.T) {
	f := newFake(t)
	_, _, errs := f.cli(t, "specs", "publish", "testdata/sheets/bad.yaml")
	want := `testdata/sheets/bad.yaml:1:1: sheet.change_note: value is required
testdata/sheets/bad.yaml:14:16: sheet.characteristics[0].limits.lower: got 25, above the upper limit 22
testdata/sheets/bad.yaml:19:23: sheet.characteristics[1].limits.lower: got 120, above the upper limit 117
`
	if diff := cmp.Diff(want, errs); diff != "" {
		t.Errorf("standard error (-want +got):\n%s", diff)
	}
	derived := replaced(t, "testdata/sheets/derived.yaml", "lower: 95", "lower: 195")
	_, _, errs = run(t, world{env: map[string]string{"SNAPGAUGE_SERVER": f.address}, stdin: derived}, "specs", "lint", "-")
	if want := "standard input:10:45: derived.amendment.override[0].limits.lower: got 195, above the upper limit 117\n"; errs != want {
		t.Errorf("derived: standard error %q, want %q", errs, want)
	}
	f.crowded = true
	_, _, errs = f.cli(t, "specs", "publish", "testdata/sheets/bad.yaml")
	if !strings.HasSuffix(errs, "\ntestdata/sheets/bad.yaml: and 2 more, which the server has no room to list\n") {
		t.Errorf("standard error %q", errs)
	}
}

func TestLint(t *testing.T) {
	f := newFake(t)
	_, out, _ := f.cli(t, "specs", "lint", "testdata/sheets/good.yaml", "testdata/sheets/bad.yaml", "testdata/sheets/derived.yaml")
	want := `testdata/sheets/good.yaml: nothing is wrong with ulverdale-causeway-400-2026-us@3, in force from 2026-06-01
testdata/sheets/derived.yaml: nothing is wrong with ulverdale-causeway-400-2026-us@3, in force from 2026-06-01
`
	if diff := cmp.Diff(want, out); diff != "" {
		t.Errorf("standard output (-want +got):\n%s", diff)
	}
	for _, r := range f.publish {
		if !r.GetValidateOnly() {
			t.Error("lint publishes")
		}
	}
}

func TestSpecsTest(t *testing.T) {
	f := newFake(t)
	for _, crowded := range []bool{false, true} {
		f.crowded, f.publish = crowded, nil
		code, out, errs := f.cli(t, "specs", "test", "testdata/sheets/good.yaml", "testdata/accept.yaml", "testdata/wrong.yaml", "testdata/badunit.yaml", "testdata/reject.yaml")
		want := `agrees     testdata/sheets/good.yaml sheet.examples[0]
agrees     testdata/accept.yaml
disagrees  testdata/wrong.yaml
           testdata/wrong.yaml:11:1: verdict ACCEPT, expected REJECT
disagrees  testdata/badunit.yaml
           testdata/badunit.yaml:10:11: readings[1].unit: got a unit that is
           none of torque
agrees     testdata/reject.yaml

2 of 5 records judged otherwise than expected
`
		if diff := cmp.Diff(want, out); code != 1 || errs != "" || diff != "" {
			t.Errorf("exit code %d, standard error %q, standard output (-want +got):\n%s", code, errs, diff)
		}
		last := f.publish[len(f.publish)-1]
		if len(f.publish[0].GetFile().GetSheet().GetExamples()) != 5 || len(last.GetFile().GetSheet().GetExamples()) != 3 || !last.GetValidateOnly() {
			t.Errorf("asked %v", f.publish)
		}
	}
	code, out, errs := f.cli(t, "specs", "test", "testdata/sheets/good.yaml", "testdata/wrong.yaml", "-o", "json")
	if want := "testdata/wrong.yaml:11:1: verdict ACCEPT, expected REJECT\n"; code != 1 || errs != want {
		t.Errorf("JSON: exit code %d, standard error %q, want %q", code, errs, want)
	}
	if err := protojson.Unmarshal([]byte(out), new(pb.PublishSpecResponse)); err != nil {
		t.Errorf("JSON: %v", err)
	}
}

// A sheet is tried as it stands, whether or not it could be published next.
func TestSpecsTestOfAnyRevision(t *testing.T) {
	f := newFake(t)
	for name, change := range map[string][2]string{
		"too high":  {"revision: 3", "revision: 9"},
		"published": {"revision: 3", "revision: 1"},
		"too early": {"2026-06-01", "2025-06-01"},
	} {
		data := replaced(t, "testdata/sheets/good.yaml", change[0], change[1])
		w := world{env: map[string]string{"SNAPGAUGE_SERVER": f.address}, stdin: data}
		if code, out, errs := run(t, w, "specs", "test", "-", "testdata/accept.yaml"); code != 0 {
			t.Errorf("%s: exit code %d; standard error %q, standard output:\n%s", name, code, errs, out)
		}
	}
}

// More records than a sheet may have examples are tried in parts.
func TestSpecsTestOfMany(t *testing.T) {
	f := newFake(t)
	dir := t.TempDir()
	args := []string{"specs", "test", "testdata/sheets/derived.yaml"}
	for i := range mostExamples + 3 {
		name := filepath.Join(dir, string(rune('a'+i%26))+strings.Repeat("x", i/26)+".yaml")
		if err := os.WriteFile(name, []byte(replaced(t, "testdata/accept.yaml", "mw", "mx")), 0o600); err != nil {
			t.Fatal(err)
		}
		args = append(args, name)
	}
	args = append(args, "testdata/wrong.yaml")
	code, out, _ := f.cli(t, args...)
	if code != 1 || !strings.HasSuffix(out, "\n1 of 68 records judged otherwise than expected\n") {
		t.Errorf("exit code %d, standard output:\n%s", code, out)
	}
	if len(f.publish) != 3 || len(f.publish[0].GetFile().GetDerived().GetHead().GetExamples()) != mostExamples {
		t.Errorf("asked %d times", len(f.publish))
	}
}

func TestWithdraw(t *testing.T) {
	f := newFake(t)
	_, out, _ := f.cli(t, "specs", "withdraw", "ulverdale-causeway-400-2026-us@2", "--reason", "Misprint.")
	if want := "withdrew ulverdale-causeway-400-2026-us@2; it judges nothing from now on\n  reason: Misprint.\n"; out != want {
		t.Errorf("standard output %q, want %q", out, want)
	}
	_, out, _ = f.cli(t, "specs", "withdraw", "ulverdale-causeway-400-2026-us@1", "--reason", "Misprint.")
	if want := "ulverdale-causeway-400-2026-us@1 was withdrawn before, on 2026-05-04 09:00Z\n  reason: Long ago.\n"; out != want {
		t.Errorf("standard output %q, want %q", out, want)
	}
}

func TestDraft(t *testing.T) {
	f := newFake(t)
	file := filepath.Join(t.TempDir(), "draft.yaml")
	if err := os.WriteFile(file, []byte("sheet: {spec_id: ulverdale-causeway-400-2026-us, revision: 3, make: Ulverdale}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	const spec = "ulverdale-causeway-400-2026-us"
	if code, _, errs := f.cli(t, "specs", "draft", "show", spec); code != 1 || !strings.Contains(errs, "no draft") {
		t.Errorf("no draft: exit code %d, %q", code, errs)
	}
	want := "kept the draft of " + spec + "; one thing keeps it from being\npublished\n  characteristics[0].source: value is required\n"
	for range 2 { // the second replaces the first, whose etag it asks for
		if code, out, errs := f.cli(t, "specs", "draft", "save", file); code != 0 || out != want {
			t.Errorf("exit code %d, %q, %q", code, out, errs)
		}
	}
	if code, _, errs := f.cli(t, "specs", "draft", "save", file, "--etag", "old"); code != 2 || !strings.Contains(errs, "changed") {
		t.Errorf("another etag: exit code %d, %q", code, errs)
	}
	if code, out, _ := f.cli(t, "specs", "draft", "show", spec); code != 0 || !strings.Contains(out, "make: Ulverdale") {
		t.Errorf("exit code %d, %q", code, out)
	}
	if code, out, _ := f.cli(t, "specs", "draft", "drop", spec); code != 0 || out != "removed the draft of "+spec+"\n" {
		t.Errorf("exit code %d, %q", code, out)
	}
}

func TestAffected(t *testing.T) {
	f := newFake(t)
	_, out, _ := f.cli(t, "affected", "ulverdale-causeway-400-2026-us@2", "--filter", `shop = "ridge-cycles"`)
	want := `0ULCW4DS7T0000123  ACCEPT → REJECT                    ridge-cycles, pre-delivery
  SAFETY    Chain slack                                        ABOVE_UPPER_LIMIT
            measured 52 mm, limit 50 mm, over by 2 mm
  abc

0ULCW4DS7T0000123  ACCEPT → no verdict                ridge-cycles, pre-delivery
  def, corrected since by abc

2 of 412 set-ups would be judged otherwise by ulverdale-causeway-400-2026-us@2,
of 1 unit; 1 corrected since
`
	if diff := cmp.Diff(want, out); diff != "" {
		t.Errorf("standard output (-want +got):\n%s", diff)
	}
	if len(f.affected) != 3 || f.affected[2].GetPageToken() != "2" || f.affected[2].GetFilter() != `shop = "ridge-cycles"` ||
		f.affected[2].GetSpecRevision() != revisionName {
		t.Errorf("asked %v", f.affected)
	}
	_, out, _ = f.cli(t, "affected", "ulverdale-causeway-400-2026-us@1")
	if want := "none of 7 set-ups would be judged otherwise by ulverdale-causeway-400-2026-us@1\n"; out != want {
		t.Errorf("standard output %q, want %q", out, want)
	}
	_, out, _ = f.cli(t, "affected", "ulverdale-causeway-400-2026-us@2", "-o", "json")
	answer := new(pb.ListAffectedSetupsResponse)
	if err := protojson.Unmarshal([]byte(out), answer); err != nil || len(answer.GetAffected()) != 2 || answer.GetJudgedCount() != 412 {
		t.Errorf("JSON: %v, %v", answer, err)
	}
}

// watch runs a watch, and interrupts it when all changes are sent unless the
// server ends it by then.
func watch(t *testing.T, f *fake, args ...string) (code int, out, errs string) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	var stdout, stderr bytes.Buffer
	a := &app{
		in: strings.NewReader(""), err: &stderr,
		out: writer(func(p []byte) (int, error) {
			n, err := stdout.Write(p)
			if bytes.Contains(p, []byte("Misprint.")) && f.ends == nil {
				cancel()
			}
			return n, err
		}),
		env:      func(string) string { return "" },
		terminal: func() (int, bool) { return 0, false },
	}
	code = a.run(ctx, append([]string{"specs", "watch", "--server", f.address}, args...))
	return code, stdout.String(), stderr.String()
}

func TestWatch(t *testing.T) {
	f := newFake(t)
	code, out, errs := watch(t, f)
	want := `published  ulverdale-causeway-400-2026-us@2  from 2026-04-01  Chain slack corre…
withdrawn  ulverdale-causeway-400-2026-us@1  on 2026-05-04  Misprint.
`
	if diff := cmp.Diff(want, out); code != 0 || diff != "" {
		t.Errorf("exit code %d, standard output (-want +got):\n%s", code, diff)
	}
	if want := "snapgauge: to go on from here: --from t2\n"; errs != want {
		t.Errorf("standard error %q, want %q", errs, want)
	}
}

func TestWatchFromAToken(t *testing.T) {
	f := newFake(t)
	code, out, _ := watch(t, f, "--from", "t1", "--sheets", "-o", "json")
	if code != 0 || f.watch.GetResumeToken() != "t1" || !f.watch.GetIncludeSheets() {
		t.Errorf("exit code %d, asked %v", code, f.watch)
	}
	change := new(pb.WatchSpecsResponse)
	if err := protojson.Unmarshal([]byte(out), change); err != nil || strings.Count(out, "\n") != 1 || change.GetResumeToken() != "t2" {
		t.Errorf("%v, standard output %q", err, out)
	}
}

func TestWatchThatTheServerEnds(t *testing.T) {
	for ends, said := range map[error]string{
		io.EOF: "it ended the stream",
		status.Error(codes.Unavailable, "the service is shutting down"): "it is shutting down",
	} {
		f := newFake(t)
		f.ends = ends
		code, out, errs := watch(t, f, "--retry", "0")
		if code != 3 || strings.Count(out, "\n") != 2 {
			t.Errorf("%v: exit code %d, standard output:\n%s", ends, code, out)
		}
		if !strings.Contains(errs, said) || strings.Contains(errs, "lost") || f.watches != 1 || !strings.HasSuffix(errs, "\nsnapgauge: to go on from here: --from t2\n") {
			t.Errorf("%v: standard error %q", ends, errs)
		}
	}
}

func TestWatchOfAFullDisk(t *testing.T) {
	f := newFake(t)
	var errs strings.Builder
	a := &app{
		in: strings.NewReader(""), out: fullDisk{}, err: &errs,
		env:      func(string) string { return "" },
		terminal: func() (int, bool) { return 0, false },
	}
	if code := a.run(t.Context(), []string{"specs", "watch", "--server", f.address}); code != 2 || !strings.Contains(errs.String(), "cannot write the answer") {
		t.Errorf("exit code %d, standard error %q", code, errs.String())
	}
}
