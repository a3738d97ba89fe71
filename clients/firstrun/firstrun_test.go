package main

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func report(verdict pb.Verdict, findings ...*pb.Finding) *pb.Report {
	return &pb.Report{Verdict: verdict, Findings: findings}
}

var (
	tooFull  = &pb.Finding{Code: pb.FindingCode_FINDING_CODE_FILL_ABOVE_SAFE_LEVEL, Severity: pb.Severity_SEVERITY_DAMAGE}
	tooLow   = &pb.Finding{Code: pb.FindingCode_FINDING_CODE_BELOW_LOWER_LIMIT, Severity: pb.Severity_SEVERITY_SAFETY}
	badVIN   = &pb.Finding{Code: pb.FindingCode_FINDING_CODE_VIN_MALFORMED, Severity: pb.Severity_SEVERITY_RECORD}
	accept   = pb.Verdict_VERDICT_ACCEPT
	reject   = pb.Verdict_VERDICT_REJECT
	refer    = pb.Verdict_VERDICT_REFER
	examples = []judged{
		{file: "specs/records/a.yaml", report: report(refer)},
		{file: "specs/records/b.yaml", report: report(reject, badVIN)},
		{file: "specs/records/c.yaml", report: report(accept), asExpected: true},
		{file: "specs/records/d.yaml", report: report(reject, tooLow)},
		{file: "specs/records/e.yaml", report: report(reject, tooLow, tooLow, tooFull)},
		{file: "specs/records/f.yaml", report: report(accept)},
	}
)

func TestPick(t *testing.T) {
	for _, test := range []struct {
		all                []judged
		accepted, rejected string
	}{
		{examples, "c", "e"},
		{examples[:4], "c", "d"},
		{examples[:2], "", "b"},
		{nil, "", ""},
	} {
		a, r := pick(test.all)
		got := func(j *judged) string {
			if j == nil {
				return ""
			}
			return name(j.file)
		}
		if got(a) != test.accepted || got(r) != test.rejected {
			t.Errorf("picked %q and %q, want %q and %q", got(a), got(r), test.accepted, test.rejected)
		}
	}
}

func TestSummary(t *testing.T) {
	for _, test := range []struct {
		j    judged
		want string
	}{
		{examples[2], "c      ACCEPT      as expected"},
		{examples[4], "e      REJECT      NOT AS EXPECTED  BELOW_LOWER_LIMIT FILL_ABOVE_SAFE_LEVEL"},
	} {
		if got := summary(test.j, 5); got != test.want {
			t.Errorf("got %q, want %q", got, test.want)
		}
	}
}

func TestOnlyAtTheRoot(t *testing.T) {
	if _, err := findRecords(t.TempDir()); err == nil || !strings.Contains(err.Error(), "root of the snapgauge repository") {
		t.Errorf("got %v", err)
	}
}

func TestServerThatEndsAtOnce(t *testing.T) {
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	// A test binary does not know the server's flags.
	if _, err := start(t.Context(), program, t.TempDir()); err == nil || !strings.Contains(err.Error(), "ended at once") {
		t.Errorf("got %v", err)
	}
}

// The whole of it, as the README has it.
func TestFirstRun(t *testing.T) {
	if testing.Short() {
		t.Skip("builds and starts the server")
	}
	root := filepath.Join("..", "..")
	if records, _ := filepath.Glob(filepath.Join(root, filepath.FromSlash(recordsDir), "*.yaml")); len(records) == 0 {
		t.Skip("there are no records yet")
	}
	temp := t.TempDir()
	t.Setenv("TMPDIR", temp)
	var out bytes.Buffer
	if err := run(t.Context(), root, &out); err != nil {
		t.Fatalf("%v\n%s", err, out.String())
	}
	// A line for each record, and room for the rest.
	if lines := strings.Count(out.String(), "\n") - strings.Count(out.String(), "as expected\n"); lines > 120 {
		t.Errorf("%d lines are too long to read", lines)
	}
	if left, err := os.ReadDir(temp); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

func TestInterruptedLeavesNothing(t *testing.T) {
	root := t.TempDir()
	if err := os.MkdirAll(filepath.Join(root, filepath.FromSlash(recordsDir)), 0o755); err != nil {
		t.Fatal(err)
	}
	for file, text := range map[string]string{"go.mod": "module " + module + "\n", recordsDir + "/a.yaml": ""} {
		if err := os.WriteFile(filepath.Join(root, filepath.FromSlash(file)), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	temp := t.TempDir()
	t.Setenv("TMPDIR", temp)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := run(ctx, root, new(bytes.Buffer)); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	if left, err := os.ReadDir(temp); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}
