package main

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// firstSheet is the text of the first sheet of the tests, with words exchanged.
func firstSheet(t testing.TB, words ...string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(testSheets, "rill-125-2026-eu-r1.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	return strings.NewReplacer(words...).Replace(string(text))
}

func sheetDir(t testing.TB, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// fails runs the command, which is to end by itself, and returns what it says.
func fails(t *testing.T, args ...string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	defer cancel()
	out := &output{}
	args = append([]string{"--listen", "127.0.0.1:0", "--metrics-listen", ""}, args...)
	if code := run(ctx, args, noEnv, out); code != exitFailure {
		t.Errorf("got exit code %d with %s, want %d", code, out, exitFailure)
	}
	return out.String()
}

func (d *daemon) specs(t testing.TB) []string {
	t.Helper()
	resp, err := pb.NewSpecServiceClient(d.conn).ListSpecs(t.Context(), &pb.ListSpecsRequest{})
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, s := range resp.GetSpecs() {
		names = append(names, s.GetName())
	}
	return names
}

// Nothing is seeded, and what was published stays over a restart.
func TestWithoutSheets(t *testing.T) {
	args := []string{"--sheets", "none", "--store", filepath.Join(t.TempDir(), "kept.db")}
	first := start(t, args...)
	if got := first.specs(t); len(got) != 0 {
		t.Errorf("got %v, want no specs", got)
	}
	_, err := pb.NewSetupServiceClient(first.conn).ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: record()})
	if status.Code(err) != codes.NotFound {
		t.Errorf("got %v, want NOT_FOUND", err)
	}
	file := &pb.SheetFile{Content: &pb.SheetFile_Sheet{Sheet: firstRevision(t)}}
	published, err := pb.NewSpecServiceClient(first.conn).PublishSpec(t.Context(), &pb.PublishSpecRequest{File: file})
	if err != nil {
		t.Fatal(err)
	}
	if code := first.stop(); code != exitOK {
		t.Errorf("got exit code %d: %s", code, first.output)
	}
	second := start(t, args...)
	judged, err := pb.NewSetupServiceClient(second.conn).ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: record()})
	if err != nil || judged.GetReport().GetDigest() != published.GetSpecRevision().GetDigest() {
		t.Errorf("got %v and %v, want it judged by %v", judged, err, published)
	}
}

// firstRevision is the sheet of the tests, published by nobody.
func firstRevision(t testing.TB) *pb.SpecSheet {
	t.Helper()
	revisions, err := loadSheets(testSheets)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range revisions {
		if r.Name() == "specs/rill-125-2026-eu/revisions/1" {
			return proto.CloneOf(r.Sheet())
		}
	}
	t.Fatal("no such sheet")
	return nil
}

// Seeding again does nothing, and does not bring back what was withdrawn.
func TestSeedingAgain(t *testing.T) {
	args := []string{"--sheets", testSheets, "--store", filepath.Join(t.TempDir(), "kept.db")}
	first := start(t, args...)
	if _, err := pb.NewSpecServiceClient(first.conn).WithdrawSpecRevision(t.Context(), &pb.WithdrawSpecRevisionRequest{
		Name: "specs/rill-125-2026-eu/revisions/1", Reason: "Wrong.",
	}); err != nil {
		t.Fatal(err)
	}
	first.stop()
	if !strings.Contains(first.output.String(), "published_now=5") {
		t.Errorf("got %s, want five published", first.output)
	}
	second := start(t, args...)
	_, err := pb.NewSetupServiceClient(second.conn).ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: record()})
	if status.Code(err) != codes.FailedPrecondition {
		t.Errorf("got %v, want nothing in force", err)
	}
	if !strings.Contains(second.output.String(), "published_now=0") {
		t.Errorf("got %s, want none published", second.output)
	}
}

// Sheets that contradict what is stored, or do not compile, are refused as a
// whole: nothing of them is published.
func TestSheetsRefused(t *testing.T) {
	file := filepath.Join(t.TempDir(), "kept.db")
	first := start(t, "--sheets", sheetDir(t, map[string]string{"one.yaml": firstSheet(t)}), "--store", file)
	before := first.specs(t)
	first.stop()

	said := fails(t, "--store", file, "--sheets", sheetDir(t, map[string]string{
		"one.yaml": firstSheet(t, "First issue.", "Another first issue."),
	}))
	if !strings.Contains(said, "specs/rill-125-2026-eu/revisions/1: the store holds it") {
		t.Errorf("got %s, want a word on the revision that is another", said)
	}
	said = fails(t, "--store", file, "--sheets", sheetDir(t, map[string]string{
		"one.yaml":   firstSheet(t, "rill-125", "brim-125", "Rill", "Brim"), // sound
		"two.yaml":   firstSheet(t, "rill-125", "lake-125", "Rill", "Lake", "chain_slack < 60.0", "chain_slack +"),
		"three.yaml": firstSheet(t, "rill-125", "pond-125", "Rill", "Pond", "front_sprocket > 11", `front_sprocket == "x"`),
	}))
	for _, want := range []string{"sheets: 2 problems", "specs/lake-125-2026-eu/revisions/1", "specs/pond-125-2026-eu/revisions/1"} {
		if !strings.Contains(said, want) {
			t.Errorf("got %s, want %q", said, want)
		}
	}
	if second := start(t, "--sheets", "none", "--store", file); len(second.specs(t)) != len(before) {
		t.Errorf("got %v, want only %v", second.specs(t), before)
	}
}
