// Package golden compares what a test made with the file that holds what it must
// be. It gives the test a flag, -update, that writes the files anew.
package golden

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"
)

var update = flag.Bool("update", false, "write the golden files anew")

// Updating reports whether the files are written and not read.
func Updating() bool { return *update }

// Check compares got with the file at path, or writes it there.
func Check(t testing.TB, path string, got []byte) {
	t.Helper()
	if Updating() {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s differs at %s; -update writes it anew", path, firstDifference(got, want))
	}
}

// firstDifference quotes what two texts have around the first place where they
// differ.
func firstDifference(got, want []byte) string {
	i := 0
	for i < min(len(got), len(want)) && got[i] == want[i] {
		i++
	}
	around := func(s []byte) []byte { return s[max(0, i-120):min(len(s), i+120)] }
	return fmt.Sprintf("byte %d: got\n%q\nwant\n%q", i, around(got), around(want))
}
