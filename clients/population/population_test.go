package main

import (
	"bytes"
	"compress/gzip"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/klauspost/compress/zstd"
)

// The records are the same wherever they go, packed or not.
func TestWrites(t *testing.T) {
	dir := t.TempDir()
	flags := []string{"--seed", "7", "--records", "50", "--preset", "mixed"}
	var plain, errors bytes.Buffer
	if code := run(flags, &plain, &errors); code != 0 || errors.Len() > 0 || bytes.Count(plain.Bytes(), []byte("\n")) != 50 {
		t.Fatalf("code %d, %s", code, errors.String())
	}
	for name, unpack := range map[string]func(io.Reader) (io.Reader, error){
		"r.jsonl":     func(r io.Reader) (io.Reader, error) { return r, nil },
		"r.jsonl.gz":  func(r io.Reader) (io.Reader, error) { return gzip.NewReader(r) },
		"r.jsonl.zst": func(r io.Reader) (io.Reader, error) { return zstd.NewReader(r) },
	} {
		t.Run(name, func(t *testing.T) {
			path, truth := filepath.Join(dir, name), filepath.Join(dir, name+".truth.jsonl")
			var out, errors bytes.Buffer
			if code := run(append(flags, "--out", path, "--truth", truth), &out, &errors); code != 0 || out.Len()+errors.Len() > 0 {
				t.Fatalf("code %d: %s%s", code, out.String(), errors.String())
			}
			file, err := os.Open(path)
			if err != nil {
				t.Fatal(err)
			}
			defer file.Close()
			r, err := unpack(file)
			if err != nil {
				t.Fatal(err)
			}
			if got, err := io.ReadAll(r); err != nil || !bytes.Equal(got, plain.Bytes()) {
				t.Errorf("other records than on standard output: %v", err)
			}
			if told, err := os.ReadFile(truth); err != nil || bytes.Count(told, []byte("\n")) != 50 {
				t.Errorf("the truth: %v", err)
			}
		})
	}
}

// What is asked for in a wrong way ends with 2 and one line that says what is
// wrong.
func TestRefuses(t *testing.T) {
	dir := t.TempDir()
	for name, test := range map[string]struct {
		args []string
		want string
	}{
		"flag":     {[]string{"--recrods", "5"}, "-recrods"},
		"number":   {[]string{"--records", "many"}, `"many"`},
		"preset":   {[]string{"--preset", "crooked"}, `no preset "crooked"; want honest or mixed`},
		"argument": {[]string{"out.jsonl"}, `unexpected argument "out.jsonl"`},
		"records":  {[]string{"--records", "-3"}, "records: got -3"},
		"file":     {[]string{"--out", filepath.Join(dir, "none", "r.jsonl")}, "no such file or directory"},
		"truth":    {[]string{"--records", "1", "--out", filepath.Join(dir, "r.jsonl"), "--truth", filepath.Join(dir, "none", "t")}, "no such file or directory"},
		"the same": {[]string{"--truth", "-"}, "cannot both go to -"},
	} {
		t.Run(name, func(t *testing.T) {
			var out, errors bytes.Buffer
			if code := run(test.args, &out, &errors); code != 2 {
				t.Errorf("code %d, want 2", code)
			}
			got := errors.String()
			if !strings.HasPrefix(got, "population: ") || !strings.Contains(got, test.want) || strings.Count(got, "\n") != 1 || out.Len() > 0 {
				t.Errorf("got %q, want one line with %q", got, test.want)
			}
		})
	}
	var out, errors bytes.Buffer
	if code := run([]string{"--help"}, &out, &errors); code != 0 || !strings.Contains(errors.String(), "-seed") {
		t.Errorf("help: code %d, %s", code, errors.String())
	}
}
