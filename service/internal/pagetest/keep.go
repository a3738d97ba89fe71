package pagetest

import (
	"flag"
	"os"
	"path/filepath"
	"testing"
)

var out = flag.String("out", "", "write the pages, and pictures of them, to this directory")

// Keeping reports whether [Keep] does anything: pictures take time.
func Keeping() bool { return *out != "" }

// Keep writes a file for people to look at, with -out.
func Keep(t testing.TB, name string, data []byte) {
	t.Helper()
	if !Keeping() {
		return
	}
	if err := os.WriteFile(filepath.Join(*out, name), data, 0o644); err != nil {
		t.Error(err)
	}
}
