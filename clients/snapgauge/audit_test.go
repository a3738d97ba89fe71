package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// recordLine is a record on a line, of an invented machine.
func recordLine(i int, shop, technician string) string {
	return fmt.Sprintf(`{"unit":{"vin":"0ULCW4DS7T%07d","model":"Causeway 400"},"phase":"handover","shop":%q,"technician":%q}`, i, shop, technician)
}

// recordLines are so many of them; of every seven, one cannot be read and one has
// no shop.
func recordLines(n int) string {
	var b strings.Builder
	for i := range n {
		switch i % 7 {
		case 3:
			fmt.Fprintf(&b, "this is line %d\n", i+1)
		case 4:
			b.WriteString(recordLine(i, "", "t1") + "\n")
		case 5:
			b.WriteString(recordLine(i, "ridge-cycles", "bad") + "\n")
		default:
			b.WriteString(recordLine(i, "mill-motors", "t1") + "\n")
		}
	}
	return b.String()
}

func writeFile(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

// files are the contents of a directory, by name.
func filesIn(t *testing.T, dir string) map[string]string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	all := make(map[string]string)
	for _, e := range entries {
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		all[e.Name()] = string(data)
	}
	return all
}

func TestAudit(t *testing.T) {
	f := newFakeAudit(t)
	records := writeFile(t, "records.jsonl", recordLines(9))
	dir := t.TempDir()
	code, out, errs := f.cli(t, "audit", records, "--known", "2026-05-01", "--title", "Invented deliveries", "--units", "us",
		"--revision", "ulverdale-causeway-400-2026-us@2", "--as-of", "2026-04-01", "--checkpoint-interval", "5",
		"--out", filepath.Join(dir, "r.jsonl"), "--out", filepath.Join(dir, "r.html"), "--out", filepath.Join(dir, "r.json"), "--save", filepath.Join(dir, "r.audit"))
	if code != 2 {
		t.Errorf("exit code %d, want 2", code)
	}
	if want := records + ":4: column 1: got this, want a set-up record in braces, such as {\"unit\": …}\n" + records + ":5: shop: value is required\n"; errs != want {
		t.Errorf("standard error (-want +got):\n%s", cmp.Diff(want, errs))
	}
	want := `Invented deliveries
9 records
each by ulverdale-causeway-400-2026-us@2, whatever was in force, as known at
2026-05-01 00:00Z
engine 1, audit 1

VERDICT     RECORDS   SHARE  95 % INTERVAL
ACCEPT            6  85.7 %
REJECT            1  14.3 %
INCOMPLETE        0     0 %
REFER             0     0 %

NOT JUDGED  RECORDS
UNREADABLE        2

ACCEPTED BY SHOP, LEAST FIRST
SHOP          RECORDS  ACCEPTED  95 % INTERVAL  REJECT  INCOMPLETE  REFER
ridge-cycles        1       0 %                      1           0      0
mill-motors         6     100 %                      0           0      0

NOTES
digest `
	got, rest, _ := strings.Cut(out, "digest ")
	if diff := cmp.Diff(want, got+"digest "); diff != "" {
		t.Errorf("standard output (-want +got):\n%s", diff)
	}
	wrote := fmt.Sprintf("wrote %[1]s/r.jsonl, 9 results\nwrote %[1]s/r.html, the report, 29 B\nwrote %[1]s/r.json, the summary, 889 B\nwrote %[1]s/r.audit, the audit's state, 1332 kB\n", dir)
	if _, got, _ := strings.Cut(rest, "\n\n"); got != wrote {
		t.Errorf("where files were written (-want +got):\n%s", cmp.Diff(wrote, got))
	}
	options := &pb.AuditOptions{
		SpecRevision: revisionName, AsOfTime: onDay(time.April, 1), KnownTime: onDay(time.May, 1), UnitSystem: pb.UnitSystem_UNIT_SYSTEM_US,
		HtmlReport: true, CheckpointInterval: 5, Title: "Invented deliveries",
	}
	if !proto.Equal(f.starts[0], options) {
		t.Errorf("asked %v, want %v", f.starts[0], options)
	}
	all := filesIn(t, dir)
	if len(all) != 4 {
		t.Errorf("got %d files, want 4", len(all))
	}
	if all["r.html"] != "<!DOCTYPE html>\n<p>9 records\n" {
		t.Errorf("report %q", all["r.html"])
	}
	summary := new(pb.AuditSummary)
	if err := protojson.Unmarshal([]byte(all["r.json"]), summary); err != nil || summary.GetRecordCount() != 9 {
		t.Errorf("summary of %d records, %v", summary.GetRecordCount(), err)
	}
	lines := strings.Split(strings.TrimSuffix(all["r.jsonl"], "\n"), "\n")
	for i, line := range lines {
		result := new(pb.AuditResult)
		if err := protojson.Unmarshal([]byte(line), result); err != nil || result.GetIndex() != int64(i) {
			t.Errorf("line %d: index %d, %v", i+1, result.GetIndex(), err)
		}
	}
	if len(lines) != 9 {
		t.Errorf("got %d results, want 9", len(lines))
	}
	_, out, _ = f.cli(t, "audit", records, "-o", "json", "--known", "2026-05-01")
	if err := protojson.Unmarshal([]byte(out), summary); err != nil || summary.GetTotal().GetAcceptedCount() != 6 {
		t.Errorf("JSON: %v\n%s", err, out)
	}
}

// Several files are one audit, in their order, and so is standard input.
func TestAuditFilesAreOne(t *testing.T) {
	f := newFakeAudit(t)
	lines := strings.SplitAfter(recordLines(9), "\n")
	all := writeFile(t, "all.jsonl", strings.Join(lines, ""))
	first, last := writeFile(t, "first.jsonl", strings.Join(lines[:4], "")), writeFile(t, "last.ndjson", strings.Join(lines[5:], ""))
	_, want, _ := f.cli(t, "audit", all, "--known", "2026-05-01")
	w := world{env: map[string]string{"SNAPGAUGE_SERVER": f.address}, stdin: lines[4]}
	_, got, errs := run(t, w, "audit", first, "-", last, "--known", "2026-05-01")
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("several files (-want +got):\n%s", diff)
	}
	if want := first + ":4: column 1: got this, want a set-up record in braces, such as {\"unit\": …}\nstandard input:1: shop: value is required\n"; errs != want {
		t.Errorf("standard error %q, want %q", errs, want)
	}
}

func TestAuditExitCodes(t *testing.T) {
	f := newFakeAudit(t)
	good := writeFile(t, "good.jsonl", recordLine(1, "mill-motors", "t1")+"\n")
	rejected := writeFile(t, "rejected.jsonl", recordLine(1, "mill-motors", "bad")+"\n")
	bad := writeFile(t, "bad.jsonl", "{}\n"+recordLine(1, "mill-motors", "bad")+"\n")
	empty := writeFile(t, "empty.jsonl", "")
	other := writeFile(t, "other.audit", "not one\n")
	cut := writeFile(t, "cut.audit", savedHead)
	packed := writeFile(t, "packed.jsonl.gz", "not packed\n")
	table := writeFile(t, "table.csv", "a,b\n")
	_, text, _ := f.cli(t, "audit", "columns", "causeway")
	columns := writeFile(t, "columns.yaml", text)
	link := filepath.Join(t.TempDir(), "link.jsonl")
	if err := os.Symlink(good, link); err != nil {
		t.Fatal(err)
	}
	f.store = []*pb.SetupRecord{{Shop: "mill-motors", Technician: "t1"}}
	for _, test := range []struct {
		args string
		code int
		errs string // part of standard error, or empty for none at all
	}{
		{good, 0, ""},
		{good + " " + rejected, 1, ""},
		{bad, 2, bad + ":1: shop: value is required"},
		{empty, 0, ""},
		{"--stored", 0, ""},
		{"", 2, "want at least one FILE, - for standard input, or --stored"},
		{"nosuch.jsonl " + good + " nor.csv", 2, "nosuch.jsonl: no such file\nnor.csv: no such file\n"},
		{table, 2, table + ": a table needs a column map, which says what its columns mean; --columns names one, and snapgauge audit columns MODEL prints one"},
		{other, 2, other + ": the name does not say what is in it; want one that ends in .jsonl"},
		{other, 2, "compressed; or say it with --format\n"},
		{"testdata", 2, "testdata: this is a directory; want a file"},
		{good + " " + table + " --columns nosuch.yaml", 2, "nosuch.yaml: no such file"},
		{good + " " + table + " --columns testdata", 2, "testdata: is a directory"},
		{other + " --columns " + columns, 2, other + ": the name does not say what is in it"},
		{good + " --columns " + columns, 2, "snapgauge: --columns: goes with a table; want a FILE that is CSV or Parquet"},
		{good + " " + rejected + " " + good, 2, "snapgauge: " + good + ": is given twice"},
		{good + " " + link, 2, "snapgauge: " + link + ": is the same file as " + good},
		{good + " --revision=", 2, "snapgauge: --revision: is empty; want a revision, SPEC@N"},
		{good + " --columns=", 2, "snapgauge: --columns: is empty; want the name of a file"},
		{good + " --save=", 2, "snapgauge: --save: is empty; want the name of a file"},
		{good + " --out=", 2, "snapgauge: --out: is empty; want the name of a file"},
		{good + " --title=\u202e", 2, "snapgauge: --title: want one line, without control characters"},
		{good + " --format xml", 2, "want jsonl or ndjson or csv or parquet"},
		{packed, 2, packed + ": is not compressed as its name says"},
		{"- -", 2, "given twice"},
		{good + " --stored", 2, "got a FILE and --stored"},
		{"--stored --format csv", 2, "--format: goes with a FILE"},
		{"--stored --filter nosuch=1", 2, "snapgauge: --filter: there is no field nosuch"},
		{good + " --filter a=1", 2, "--filter: goes with --stored"},
		{good + " --include-superseded", 2, "--include-superseded: goes with --stored"},
		{good + " --revision scree", 2, `snapgauge: --revision: got "scree", want a revision: scree@N`},
		{good + " --as-of yesterday", 2, `got "yesterday", want a date`},
		{good + " --checkpoint-interval -1", 2, "--checkpoint-interval: got -1"},
		{good + " --checkpoint-interval 1000001", 2, "--checkpoint-interval: got 1000001"},
		{good + " --retry -1s", 2, "--retry: got -1s"},
		{good + " --out report.pdf", 2, "--out report.pdf: the name does not say what to write"},
		{good + " --out -", 2, "standard output has the summary"},
		{good + " --save -", 2, "standard output has the summary"},
		{good + " --out " + rejected, 2, rejected + ": is there already; --force overwrites it"},
		{good + " --save " + rejected, 2, rejected + ": is there already; --force overwrites it"},
		{good + " --force --out " + good, 2, good + ": is read from, and would be written over; want another name"},
		{good + " --force --out " + link, 2, link + ": is read from, and would be written over; want another name"},
		{good + " --out nosuch/r.html", 2, "nosuch/r.html: there is no such directory"},
		{good + " --out nosuch/r.jsonl", 2, "nosuch/r.jsonl: there is no such directory"},
		{good + " --out testdata", 2, "testdata: the name does not say"},
		{good + " --save testdata", 2, "testdata: this is a directory"},
		{good + " --out a.html --out ./a.html", 2, "./a.html: is to be written twice"},
		{good + " --server 127.0.0.1:1", 3, "no snapgauge server answers at 127.0.0.1:1: nothing listens there"},
		{"join", 2, "want at least one saved audit"},
		{"join " + cut + " " + cut, 2, "snapgauge: " + cut + ": is given twice"},
		{"join nosuch.audit", 2, "nosuch.audit: no such file"},
		{"join testdata", 2, "testdata: is a directory"},
		{"join " + other, 2, other + ": this is no saved audit"},
		{"join " + cut, 2, cut + ": the saved audit ends too early"},
		{"join " + other + " --out r.jsonl", 2, "want a name that ends in .html for the report or in .json for the summary"},
	} {
		code, _, errs := f.cli(t, append([]string{"audit"}, strings.Fields(test.args)...)...)
		if code != test.code {
			t.Errorf("%s: exit code %d, want %d; standard error: %s", test.args, code, test.code, errs)
		}
		if test.errs == "" && errs != "" || !strings.Contains(errs, test.errs) {
			t.Errorf("%s: standard error %q, want %q", test.args, errs, test.errs)
		}
	}
	for code, want := range map[codes.Code]int{
		codes.InvalidArgument: 2, codes.NotFound: 2, codes.FailedPrecondition: 2, codes.PermissionDenied: 2,
		codes.Internal: 3, codes.Unimplemented: 3, codes.ResourceExhausted: 3, codes.DataLoss: 3,
	} {
		f.refuse = status.Error(code, "said by the server")
		if got, _, errs := f.cli(t, "audit", good); got != want || strings.Count(errs, "\n") != 1 {
			t.Errorf("%s: exit code %d, want %d; standard error %q", code, got, want, errs)
		}
	}
}

func TestAuditTellsTheFirstBadLines(t *testing.T) {
	f := newFakeAudit(t)
	var lines, want strings.Builder
	for i := range 25 {
		lines.WriteString("\n{]\n")
		if i < 10 {
			fmt.Fprintf(&want, "standard input:%d: column 2: got ], want the name of a field in quotes\n", 2*i+2)
		}
	}
	want.WriteString("snapgauge: 15 more records could not be judged\n")
	w := world{env: map[string]string{"SNAPGAUGE_SERVER": f.address}, stdin: lines.String()}
	code, _, errs := run(t, w, "audit", "-")
	if diff := cmp.Diff(want.String(), errs); code != 2 || diff != "" {
		t.Errorf("exit code %d, standard error (-want +got):\n%s", code, diff)
	}
}

// A run with outputs of every kind, and what came of it.
type auditRunOf struct {
	code      int
	out, errs string
	files     map[string]string
}

func (f *fakeAudit) audit(t *testing.T, args ...string) auditRunOf {
	t.Helper()
	dir := t.TempDir()
	args = append([]string{"audit", "--known", "2026-05-01", "--checkpoint-interval", "3", "--out", filepath.Join(dir, "r.jsonl"),
		"--out", filepath.Join(dir, "r.html"), "--out", filepath.Join(dir, "r.json"), "--save", filepath.Join(dir, "r.audit")}, args...)
	var r auditRunOf
	r.code, r.out, r.errs = f.cli(t, args...)
	r.out = strings.ReplaceAll(r.out, dir, "DIR")
	r.files = filesIn(t, dir)
	return r
}

// told are the lines of standard error that are about records.
func told(errs string) string {
	var b strings.Builder
	for line := range strings.Lines(errs) {
		if !strings.HasPrefix(line, "snapgauge: ") || strings.Contains(line, "could not be judged") {
			b.WriteString(line)
		}
	}
	return b.String()
}

// Whenever and however the server dies, the audit goes on and gives what it would
// have given.
func TestAuditGoesOn(t *testing.T) {
	const n = 7
	records := writeFile(t, "records.jsonl", recordLines(n))
	var store []*pb.SetupRecord
	for i := range n {
		store = append(store, &pb.SetupRecord{Shop: "mill-motors", Technician: []string{"t1", "bad"}[i%2], Note: fmt.Sprint(i)})
	}
	each := func(t *testing.T, what string) {
		f := newFakeAudit(t)
		f.store = store
		want := f.audit(t, what)
		if want.code == 3 || len(want.files) != 4 {
			t.Fatalf("exit code %d, %d files, standard error %s", want.code, len(want.files), want.errs)
		}
		compare := func(name string, resumed int64, deaths ...death) {
			t.Helper()
			f.deaths, f.resume, f.calls = deaths, nil, 0
			got := f.audit(t, what)
			if got.code != want.code || got.out != want.out || told(got.errs) != told(want.errs) {
				t.Errorf("%s: exit code %d, want %d, standard output (-want +got):\n%s\nstandard error:\n%s", name, got.code, want.code, cmp.Diff(want.out, got.out), got.errs)
			}
			if diff := cmp.Diff(want.files, got.files); diff != "" {
				t.Errorf("%s: files differ (-want +got):\n%.2000s", name, diff)
			}
			back := strings.Count(got.errs, "snapgauge: the server is back; going on")
			if f.calls != len(deaths)+1 || back == 0 || back > len(deaths) {
				t.Errorf("%s: %d calls, want %d; standard error:\n%s", name, f.calls, len(deaths)+1, got.errs)
			}
			if resumed > 0 && (len(f.resume) == 0 || f.resume[0] != resumed) {
				t.Errorf("%s: went on from %v, want %d", name, f.resume, resumed)
			}
		}
		for k := range int64(n + 1) {
			newest := k / 3 * 3
			compare(fmt.Sprintf("%s at once after %d", what, k), newest, death{k, dieAtOnce})
			compare(fmt.Sprintf("%s having saved after %d", what, k), k, death{k, dieAfterSaving})
			compare(fmt.Sprintf("%s while saving after %d", what, k), newest, death{k, dieInsideSaving})
			compare(fmt.Sprintf("%s without a word after %d", what, k), 0, death{k, dieWithoutAWord})
		}
		compare(what+" before the report", n, death{0, dieBeforeTheHTML})
		compare(what+" three times", 0, death{4, dieAtOnce}, death{2, dieWithoutAWord}, death{1, dieAfterSaving})
	}
	for _, what := range []string{records, "--stored"} {
		t.Run(filepath.Base(what), func(t *testing.T) {
			t.Parallel()
			each(t, what)
		})
	}
}

// A server that dies of the same record again and again is not tried for ever.
func TestAuditGivesUp(t *testing.T) {
	f := newFakeAudit(t)
	for range 100 {
		f.deaths = append(f.deaths, death{5, dieAtOnce})
	}
	records := writeFile(t, "records.jsonl", recordLines(11))
	out := filepath.Join(t.TempDir(), "r.jsonl")
	code, _, errs := f.cli(t, "audit", records, "--retry", "300ms", "--out", out)
	if code != 3 || !strings.Contains(errs, "it is shutting down; lost after 5 results, trying for 300ms to go on\n") ||
		!strings.HasSuffix(errs, "shutting down\nsnapgauge: gave up after 300ms\n") {
		t.Errorf("exit code %d, standard error %q", code, errs)
	}
	if f.calls < 2 || f.calls > 10 {
		t.Errorf("%d calls, want a few", f.calls)
	}
	if all := filesIn(t, filepath.Dir(out)); len(all) != 0 {
		t.Errorf("left behind %v", all)
	}
	f.calls, f.deaths = 0, []death{{5, dieAtOnce}}
	if code, _, errs := f.cli(t, "audit", records, "--retry", "0"); code != 3 || f.calls != 1 || strings.Contains(errs, "lost") {
		t.Errorf("--retry 0: exit code %d, %d calls, standard error %q", code, f.calls, errs)
	}
}

// Without a checkpoint to go on from, the audit begins anew, and so do its files:
// more may be known by then.
func TestAuditBeginsAnew(t *testing.T) {
	f := newFakeAudit(t)
	f.twist = func(call int, e *pb.AuditEvent) {
		for _, r := range e.GetResults().GetResults() {
			r.SpecRevision = fmt.Sprintf("specs/x/revisions/%d", call)
		}
	}
	f.deaths = []death{{5, dieAtOnce}}
	out := filepath.Join(t.TempDir(), "r.jsonl")
	f.cli(t, "audit", writeFile(t, "records.jsonl", recordLines(11)), "--out", out)
	if all := filesIn(t, filepath.Dir(out))["r.jsonl"]; strings.Count(all, "revisions/2") != 11 || strings.Contains(all, "revisions/1") {
		t.Errorf("results:\n%s", all)
	}
}

// What the contract does not allow is not taken for an answer.
func TestAuditRefusesANonsensicalServer(t *testing.T) {
	f := newFakeAudit(t)
	records := writeFile(t, "records.jsonl", recordLines(3))
	out := filepath.Join(t.TempDir(), "r.html")
	for want, twist := range map[string]func(int, *pb.AuditEvent){
		"it gave result 7 where 0 was to come": func(_ int, e *pb.AuditEvent) {
			for _, r := range e.GetResults().GetResults() {
				r.Index += 7
			}
		},
		"a checkpoint covers records that it gave no result of": func(_ int, e *pb.AuditEvent) {
			if e.GetCheckpoint() != nil {
				e.GetCheckpoint().RecordCount += 7
			}
		},
		"it ended the stream without a summary": func(_ int, e *pb.AuditEvent) {
			if e.GetSummary() != nil {
				e.Event = nil
			}
		},
		"its summary is of 2 records where it gave 3 results": func(_ int, e *pb.AuditEvent) {
			if e.GetSummary() != nil {
				e.GetSummary().RecordCount--
			}
		},
		"it ended the stream without the whole report": func(_ int, e *pb.AuditEvent) {
			if e.GetReport() != nil {
				e.GetReport().Last = false
			}
		},
	} {
		f.mu.Lock() // the call before may still run
		f.twist = twist
		f.mu.Unlock()
		code, _, errs := f.cli(t, "audit", records, "--out", out)
		if code != 3 || !strings.Contains(errs, "the server at "+f.address+" failed: "+want+"\n") {
			t.Errorf("%s: exit code %d, standard error %q", want, code, errs)
		}
		if all := filesIn(t, filepath.Dir(out)); len(all) != 0 {
			t.Errorf("left behind %v", all)
		}
	}
}

// A file that cannot be read on ends the audit: a summary of a part would be taken
// for that of the whole.
func TestAuditOfABrokenFile(t *testing.T) {
	f := newFakeAudit(t)
	out := filepath.Join(t.TempDir(), "r.jsonl")
	var errs bytes.Buffer
	a := testApp(f, io.MultiReader(strings.NewReader(recordLines(3)), brokenReader{}), &errs)
	if code := a.run(t.Context(), []string{"audit", "-", "--out", out}); code != 2 || !strings.Contains(errs.String(), "standard input: cannot be read on: it broke\n") {
		t.Errorf("exit code %d, standard error %q", code, errs.String())
	}
	if all := filesIn(t, filepath.Dir(out)); len(all) != 0 {
		t.Errorf("left behind %v", all)
	}
}

type brokenReader struct{}

func (brokenReader) Read([]byte) (int, error) { return 0, errors.New("it broke") }

// testApp is a command line that a test can hold on to.
func testApp(f *fakeAudit, in io.Reader, errs io.Writer) *app {
	return &app{
		in: in, out: io.Discard, err: errs, now: func() time.Time { return testTime },
		env: func(name string) string {
			return map[string]string{"SNAPGAUGE_SERVER": f.address}[name]
		},
		terminal: func() (int, bool) { return 0, false },
	}
}

// An interrupt ends an audit at once, wherever it waits, and leaves no files.
func TestAuditInterrupted(t *testing.T) {
	hold := make(chan struct{})
	t.Cleanup(func() { close(hold) })
	waiting, feeding := io.Pipe()
	t.Cleanup(func() { _ = feeding.Close() })
	for name, prepare := range map[string]func(f *fakeAudit) io.Reader{
		"the server waits":            func(f *fakeAudit) io.Reader { f.hold = hold; return strings.NewReader(recordLines(10_000)) },
		"standard input waits":        func(*fakeAudit) io.Reader { return io.MultiReader(strings.NewReader(recordLines(3)), waiting) },
		"waiting for the server back": func(f *fakeAudit) io.Reader { f.deaths = manyDeaths(1000); return strings.NewReader(recordLines(9)) },
	} {
		t.Run(name, func(t *testing.T) {
			f := newFakeAudit(t)
			in := prepare(f)
			out := filepath.Join(t.TempDir(), "r.jsonl")
			ctx, cancel := context.WithCancel(t.Context())
			var errs bytes.Buffer
			ended := make(chan int)
			go func() { ended <- testApp(f, in, &errs).run(ctx, []string{"audit", "-", "--out", out}) }()
			for {
				f.mu.Lock()
				calls := f.calls
				f.mu.Unlock()
				if calls > 0 && len(filesIn(t, filepath.Dir(out))) > 0 {
					break
				}
				time.Sleep(time.Millisecond)
			}
			time.Sleep(20 * time.Millisecond) // into the midst of it
			cancel()
			select {
			case code := <-ended:
				if code != 130 || !strings.HasSuffix(errs.String(), "snapgauge: interrupted\n") {
					t.Errorf("exit code %d, standard error %q", code, errs.String())
				}
			case <-time.After(5 * time.Second):
				t.Fatal("still running")
			}
			if all := filesIn(t, filepath.Dir(out)); len(all) != 0 {
				t.Errorf("left behind %v", all)
			}
		})
	}
}

func manyDeaths(n int) []death {
	deaths := make([]death, n)
	for i := range deaths {
		deaths[i] = death{1, dieAtOnce}
	}
	return deaths
}

// No more records are held than lie between two checkpoints and are under way,
// however many there are.
func TestAuditHoldsFewRecords(t *testing.T) {
	f := newFakeAudit(t)
	const interval, records = 300, 5_000
	read := &auditInput{files: []string{"-"}, stdin: &endlessRecords{left: records}, options: batch.Options{Format: "jsonl"}}
	r := f.silentRun(t, &pb.AuditOptions{CheckpointInterval: interval})
	go read.read(r.feed)
	done, err := r.run(t.Context())
	if err != nil || done.summary.GetRecordCount() != records {
		t.Fatalf("%d records, %v", done.summary.GetRecordCount(), err)
	}
	// What is under way is bounded by the windows of the transport, which is some
	// hundred of these records each way.
	if most := interval + readAhead + 1000; r.feed.longest > most {
		t.Errorf("held %d records at a time, want at most %d", r.feed.longest, most)
	}
	if len(r.feed.records) > 0 || r.feed.bytes != 0 {
		t.Errorf("%d records of %d bytes are still held", len(r.feed.records), r.feed.bytes)
	}
}

type endlessRecords struct {
	left int
	text []byte
}

func (e *endlessRecords) Read(p []byte) (int, error) {
	if len(e.text) == 0 {
		if e.left == 0 {
			return 0, io.EOF
		}
		e.left--
		e.text = []byte(recordLine(e.left, "mill-motors", strings.Repeat("t", 4000)) + "\n")
	}
	n := copy(p, e.text)
	e.text = e.text[n:]
	return n, nil
}

func TestFeedForgetsWhatIsTooMuch(t *testing.T) {
	f := newFeed()
	f.mostBytes = 100
	for i := range int64(20) {
		f.put(make(wire, 10), batch.Place{Line: i + 1})
		if m, err := f.take(t.Context(), i); len(m) != 10 || err != nil {
			t.Fatalf("record %d: %d bytes, %v", i, len(m), err)
		}
	}
	if f.bytes > 110 {
		t.Errorf("holds %d bytes, want at most 110", f.bytes)
	}
	var forgotten *forgottenError
	if _, err := f.take(t.Context(), 3); !errors.As(err, &forgotten) {
		t.Errorf("record 3: got %v, want that it was forgotten", err)
	}
	if p, ok := f.place(3); !ok || p.Line != 4 {
		t.Errorf("place of record 3: %v", p)
	}
	f.release(15)
	if _, err := f.take(t.Context(), 15); err != nil {
		t.Errorf("record 15 after a checkpoint: %v", err)
	}
	if _, ok := f.place(3); ok {
		t.Error("record 3 is there after a checkpoint")
	}
}

// What was too much to keep cannot be gone on with, and says so.
func TestAuditCannotGoOn(t *testing.T) {
	f := newFakeAudit(t)
	f.deaths = []death{{100, dieAtOnce}}
	r := f.silentRun(t, &pb.AuditOptions{})
	r.retry = time.Second
	r.feed.mostBytes = 1 << 10
	go (&auditInput{files: []string{"-"}, stdin: strings.NewReader(recordLines(200))}).read(r.feed)
	_, err := r.run(t.Context())
	if f := (*failure)(nil); !errors.As(err, &f) || f.code != exitServer || !strings.Contains(f.Error(), "snapgauge: cannot go on: more than 0 MB") {
		t.Errorf("got %v", err)
	}
}

func TestAuditStoredAsks(t *testing.T) {
	f := newFakeAudit(t)
	f.store = []*pb.SetupRecord{{Shop: "mill-motors", Technician: "t1"}, {}}
	code, _, errs := f.cli(t, "audit", "--stored", "--filter", `shop = "mill-motors"`, "--include-superseded")
	if code != 2 || errs != "setups/n1: shop: value is required\n" {
		t.Errorf("exit code %d, standard error %q", code, errs)
	}
	if got := f.stored[0]; got.GetFilter() != `shop = "mill-motors"` || !got.GetIncludeSuperseded() {
		t.Errorf("asked %v", got)
	}
}

func TestAuditJoin(t *testing.T) {
	f := newFakeAudit(t)
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	for name, n := range map[string]int{"a.audit": 2, "b.audit": 3} {
		if code, _, errs := f.cli(t, "audit", writeFile(t, "records.jsonl", recordLines(n)), "--save", at(name)); code != 0 {
			t.Fatalf("exit code %d, standard error %q", code, errs)
		}
	}
	code, out, errs := f.cli(t, "audit", "join", at("a.audit"), at("b.audit"), "--out", at("r.html"), "--save", at("ab.audit"))
	if code != 0 || !strings.HasPrefix(out, "5 records\n") || errs != "" {
		t.Errorf("exit code %d, standard error %q, standard output:\n%s", code, errs, out)
	}
	if got := filesIn(t, dir)["r.html"]; got != "<!DOCTYPE html>\n<p>5 records\n" {
		t.Errorf("report %q", got)
	}
	// What was joined can be joined again.
	_, out, errs = f.cli(t, "audit", "join", at("ab.audit"), at("a.audit"), "-o", "json")
	summary := new(pb.AuditSummary)
	if err := protojson.Unmarshal([]byte(out), summary); err != nil || summary.GetRecordCount() != 7 {
		t.Errorf("%v, standard error %q:\n%s", err, errs, out)
	}
	f.cli(t, "audit", writeFile(t, "records.jsonl", recordLines(2)), "--save", at("c.audit"), "--revision", "other@1")
	code, _, errs = f.cli(t, "audit", "join", at("a.audit"), at("c.audit"))
	if code != 2 || errs != "snapgauge: the audits cannot be joined: they were judged by different revisions\n" {
		t.Errorf("exit code %d, standard error %q", code, errs)
	}
	damaged := []byte(filesIn(t, dir)["a.audit"])
	damaged[bytes.IndexByte(damaged, '{')] = '-'
	if err := os.WriteFile(at("d.audit"), damaged, 0o666); err != nil {
		t.Fatal(err)
	}
	if code, _, errs := f.cli(t, "audit", "join", at("d.audit")); code != 2 || errs != "snapgauge: checkpoint: the checkpoint is damaged\n" {
		t.Errorf("exit code %d, standard error %q", code, errs)
	}
}

func TestAuditForce(t *testing.T) {
	f := newFakeAudit(t)
	records := writeFile(t, "records.jsonl", recordLines(3))
	dir := t.TempDir()
	args := []string{"audit", records, "--force"}
	for _, name := range []string{"r.jsonl", "r.html"} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte("old"), 0o600); err != nil {
			t.Fatal(err)
		}
		args = append(args, "--out", path)
	}
	f.refuse = status.Error(codes.Internal, "no")
	f.cli(t, args...)
	if all := filesIn(t, dir); all["r.jsonl"] != "old" || all["r.html"] != "old" || len(all) != 2 {
		t.Errorf("after a failure: %v", all)
	}
	f.refuse = nil
	if code, _, errs := f.cli(t, args...); code != 0 {
		t.Errorf("exit code %d, standard error %q", code, errs)
	}
	if all := filesIn(t, dir); strings.Count(all["r.jsonl"], "\n") != 3 || all["r.html"] != "<!DOCTYPE html>\n<p>3 records\n" || len(all) != 2 {
		t.Errorf("after the audit: %v", all)
	}
}

// syncBuffer may be written to and read at the same time.
type syncBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *syncBuffer) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func (s *syncBuffer) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}

func TestAuditProgressIsDrawnAndTakenAway(t *testing.T) {
	for _, test := range []struct {
		name  string
		env   map[string]string
		args  []string
		drawn bool
	}{
		{"terminal", nil, nil, true},
		{"NO_COLOR", map[string]string{"NO_COLOR": "1"}, nil, true},
		{"quiet", nil, []string{"--quiet"}, false},
		{"dumb", map[string]string{"TERM": "dumb"}, nil, false},
	} {
		t.Run(test.name, func(t *testing.T) {
			f := newFakeAudit(t)
			hold := make(chan struct{})
			f.hold = hold
			time.AfterFunc(700*time.Millisecond, func() { close(hold) })
			errs := new(syncBuffer)
			a := testApp(f, strings.NewReader(recordLines(9)), errs)
			env := a.env
			a.env = func(name string) string {
				if v, ok := test.env[name]; ok {
					return v
				}
				return env(name)
			}
			a.errTerminal = func() (int, bool) { return 60, true }
			a.run(t.Context(), append([]string{"audit", "-"}, test.args...))
			got := errs.String()
			if strings.Contains(got, "\r") != test.drawn {
				t.Fatalf("standard error %q", got)
			}
			if !test.drawn {
				return
			}
			if n := strings.Count(got, "record"); n < 2 || n > 6 {
				t.Errorf("drawn %d times in 0.7 s: %q", n, got)
			}
			line, rest, _ := strings.Cut(got, "\r\x1b[K")
			if !strings.HasPrefix(line, "\r1 record") || !strings.HasPrefix(rest, "standard input:4: ") {
				t.Errorf("standard error %q", got)
			}
			if strings.Contains(got, "\x1b[2m") == (test.name == "NO_COLOR") {
				t.Errorf("colour: %q", got)
			}
		})
	}
}

func TestProgressLine(t *testing.T) {
	start := time.Now()
	s := progressState{records: 12_480, unaccepted: 96, samples: []progressSample{{start, 2480}, {start.Add(10 * time.Second), 12_480}}}
	for _, test := range []struct {
		cells int
		share float64
		known bool
		want  string
	}{
		{79, 0.415, true, "12,480 records  41 %  1,000/s  18 s left  96 not accepted"},
		{79, 0.0005, true, "12,480 records  0 %  1,000/s  7 h left  96 not accepted"},
		{79, 0, false, "12,480 records  1,000/s  96 not accepted"},
		{50, 0.415, true, "12,480 records  41 %  18 s left  96 not accepted"},
		{40, 0.415, true, "12,480 records  41 %  18 s left"},
		{24, 0.415, true, "12,480 records  41 %"},
		{18, 0.415, true, "12,480 records"},
		{9, 0.415, true, "12,480 r…"},
	} {
		if got := s.line(test.share, test.known, test.cells, false); got != test.want {
			t.Errorf("%d cells: got %q, want %q", test.cells, got, test.want)
		}
	}
	s.waiting = true
	if got, want := s.line(0.415, true, 79, false), "12,480 records  41 %  waiting for the server  96 not accepted"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	for seconds, want := range map[float64]string{0.2: "1 s left", 59.1: "60 s left", 61: "2 min left", 5399: "90 min left", 5401: "2 h left", 1e9: "days left"} {
		if got := timeLeft(seconds); got != want {
			t.Errorf("%v s: got %q, want %q", seconds, got, want)
		}
	}
}

// The time for which the server was away is not in the rate, nor so in the time
// that is left.
func TestProgressAfterAWait(t *testing.T) {
	now := time.Now()
	var line string
	p := &progress{write: func(s string) { line = s }, width: func() int { return 80 }, share: func(n int64) (float64, bool) { return float64(n) / 4000, true }}
	p.state.samples = []progressSample{{now, 0}}
	p.set(1000, 0)
	p.draw(now.Add(time.Second))
	p.wait()
	for i := range 10 {
		p.draw(now.Add(time.Duration(i+1) * time.Second))
	}
	if want := "\r1,000 records  25 %  waiting for the server\x1b[K"; line != want {
		t.Errorf("got %q, want %q", line, want)
	}
	p.set(2000, 0)
	p.draw(now.Add(11 * time.Second))
	if want := "\r2,000 records  50 %  1,000/s  2 s left\x1b[K"; line != want {
		t.Errorf("got %q, want %q", line, want)
	}
}

func TestAuditCompletion(t *testing.T) {
	f := newFakeAudit(t)
	for _, test := range []struct {
		args string
		want []string
	}{
		{"audit |", []string{"join\tJoin audits of parts to one", "columns\t", ":0"}},
		{"audit a.jsonl |", []string{"jsonl", "csv", "parquet", "gz", ":8"}},
		{"audit --format |", []string{"jsonl", "ndjson", "csv", "parquet", ":4"}},
		{"audit --out |", []string{"jsonl", "html", "json", "zst", ":8"}},
		{"audit --save |", []string{"audit", ":8"}},
		{"audit --columns |", []string{"yaml", "yml", ":8"}},
		{"audit --revision |", []string{"ulverdale-causeway-400-2026-us@\tUlverdale Causeway 400 2026 US", ":6"}},
		{"audit --revision ulverdale-causeway-400-2026-us@|", []string{"ulverdale-causeway-400-2026-us@2\tChain slack corrected.", ":4"}},
		{"audit --retry |", []string{":4"}},
		{"specs watch --retry |", []string{":4"}},
		{"audit join |", []string{"audit", ":8"}},
		{"audit join a.audit |", []string{"audit", ":8"}},
		{"audit columns |", []string{"Causeway 400\tUlverdale", ":4"}},
	} {
		args := append([]string{"__complete"}, strings.Split(strings.TrimSuffix(test.args, "|"), " ")...)
		_, out, _ := f.cli(t, args...)
		for _, want := range test.want {
			if !strings.Contains(out, want) {
				t.Errorf("%s: lacks %q: %q", test.args, want, out)
			}
		}
	}
}

// Tables and JSON Lines may be audited together: the map is for the tables.
func TestAuditOfATableAndJSONLines(t *testing.T) {
	f := newFakeAudit(t)
	_, text, _ := f.cli(t, "audit", "columns", "causeway", "--phase", "pre-delivery")
	_, header, _ := f.cli(t, "audit", "columns", "causeway", "--phase", "pre-delivery", "--csv")
	table, columns := writeFile(t, "t.csv", header+header), writeFile(t, "c.yaml", text)
	code, out, errs := f.cli(t, "audit", table, writeFile(t, "r.jsonl", recordLines(3)), "--columns", columns)
	if code != 2 || !strings.HasPrefix(out, "4 records\n") || !strings.HasPrefix(errs, table+":2: column ") {
		t.Errorf("exit code %d, standard error %q:\n%s", code, errs, out)
	}
	code, _, errs = f.cli(t, "audit", table, "--columns", columns, "--force", "--save", columns)
	if want := "snapgauge: " + columns + ": is read from, and would be written over; want another name\n"; code != 2 || errs != want {
		t.Errorf("exit code %d, standard error %q, want %q", code, errs, want)
	}
}

// The help names no phase that there is not, and fits a terminal.
func TestAuditColumnsHelp(t *testing.T) {
	_, out, _ := run(t, world{}, "audit", "columns", "--help")
	if strings.Contains(out, "unspecified") || !strings.Contains(out, "(default: all characteristics)\n") {
		t.Errorf("got %s", out)
	}
	for _, command := range [][]string{{"audit"}, {"audit", "join"}, {"audit", "columns"}} {
		_, out, _ := run(t, world{}, append(command, "--help")...)
		text, _, _ := strings.Cut(out, "Usage:")
		for line := range strings.Lines(text) {
			if len(line) > pipedWidth+1 {
				t.Errorf("%v: a line of %d characters: %s", command, len(line)-1, line)
			}
		}
	}
}

// What the template's first line heads is read by the template's map.
func TestAuditColumns(t *testing.T) {
	f := newFakeAudit(t)
	for _, args := range [][]string{nil, {"--phase", "pre-delivery"}, {"--readings", "--optional"}, {"--units", "us"}} {
		_, text, errs := f.cli(t, append([]string{"audit", "columns", "causeway"}, args...)...)
		_, header, _ := f.cli(t, append([]string{"audit", "columns", "causeway", "--csv"}, args...)...)
		if errs != "" || strings.Count(header, "\n") != 1 {
			t.Fatalf("%v: standard error %q, header %q", args, errs, header)
		}
		code, out, errs := f.cli(t, "audit", writeFile(t, "t.csv", header), "--columns", writeFile(t, "c.yaml", text))
		if code != 0 || !strings.HasPrefix(out, "no records\n") {
			t.Errorf("%v: exit code %d, standard error %q, header %q, map:\n%s", args, code, errs, header, text)
		}
	}
	if code, _, errs := f.cli(t, "audit", writeFile(t, "t.csv", "a,b\n"), "--columns", writeFile(t, "c.yaml", "nonsense: 1\n")); code != 2 || !strings.Contains(errs, "c.yaml:1:1: ") {
		t.Errorf("exit code %d, standard error %q", code, errs)
	}
	if code, _, errs := f.cli(t, "audit", "columns", "nosuch"); code != 2 || !strings.Contains(errs, `no model "nosuch"`) {
		t.Errorf("exit code %d, standard error %q", code, errs)
	}
	if code, out, _ := f.cli(t, "audit", "columns", "causeway", "-o", "json"); code != 0 || !strings.HasPrefix(out, "{\n") {
		t.Errorf("JSON: exit code %d:\n%s", code, out)
	}
}
