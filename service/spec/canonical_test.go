package spec_test

import (
	"os"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
	"github.com/snapgauge/snapgauge/service/spec"
)

// TestCanonicalNoChange fails when the canonical form changes. Digests that
// were given out depend on it: make the code fit the files, never the files
// the code.
func TestCanonicalNoChange(t *testing.T) {
	read := func(name string) string {
		data, err := os.ReadFile("testdata/nochange/" + name)
		if err != nil {
			t.Fatal(err)
		}
		return strings.TrimSuffix(string(data), "\n")
	}
	file := &pb.SheetFile{}
	if _, err := document.Decode([]byte(read("sheet.yaml")), file, document.Options{}); err != nil {
		t.Fatal(err)
	}
	got, err := spec.Canonical(file.GetSheet())
	if err != nil {
		t.Fatal(err)
	}
	if want := read("canonical.json"); string(got) != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	digest, err := spec.Digest(file.GetSheet())
	if want := read("sha256"); err != nil || digest != want {
		t.Errorf("got %s (%v), want %s", digest, err, want)
	}
}

func TestCanonicalSame(t *testing.T) {
	sheet := testSheet(t)
	want, err := spec.Canonical(sheet)
	if err != nil {
		t.Fatal(err)
	}
	for range 20 {
		got, err := spec.Canonical(proto.Clone(sheet).(*pb.SpecSheet))
		if err != nil || string(got) != string(want) {
			t.Fatalf("got %s (%v), want %s", got, err, want)
		}
	}
	sheet.Characteristics[0].Source += "."
	if got, err := spec.Canonical(sheet); err != nil || string(got) == string(want) {
		t.Errorf("another sheet has the same form (%v)", err)
	}
}

func TestCanonicalRefuses(t *testing.T) {
	if _, err := spec.Digest(&pb.SpecSheet{Model: "\xff"}); err == nil {
		t.Error("text that is not UTF-8 is accepted")
	}
}
