package document_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
)

// FuzzDecode asks of any data: no panic; every error is ours and stands in the
// document; what is accepted is written and read again the same.
func FuzzDecode(f *testing.F) {
	f.Add([]byte(goodRecord))
	for _, seed := range []string{
		"", "{}", "note: \"\\ud83d\\ude00\"", "a: &a [*a]", "<<: {}", "note: !!float 1", "? a\n: b", "readings: [{value: .inf}]",
		"sheet: {spec_id: a, characteristics: [{id: b, limits: {lower: 1, unit: mm}, measured: {}}]}",
		"derived: {base_spec_id: a, base_revision: 1, head: {invented: true}, amendment: {remove: [b]}}",
		"note: a\r\nshop: b\u0085phase: c\u2028unit:\u2029  vin: d", "---\na: b\n---\n", "\xff\xfea\x00", "%YAML 1.2\n---\nnote: a",
		`{"unit":{"hours":1e5},"phase":"PHASE_SERVICE","finishTime":"2026-03-01T09:20:00Z"}`,
	} {
		f.Add([]byte(seed))
	}
	sheets, _ := filepath.Glob("../spec/testdata/library/sheets/*.yaml")
	for _, name := range sheets {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		for _, m := range []proto.Message{&pb.SetupRecord{}, &pb.SheetFile{}} {
			lines, err := document.Decode(data, m, document.Options{Name: "f"})
			if err != nil {
				check(t, data, err)
				continue
			}
			if line, column, ok := lines.Line(""); !ok || line < 1 || column < 1 {
				t.Fatalf("the document is at %d:%d, %v", line, column, ok)
			}
			written, err := document.Encode(m)
			if err != nil {
				t.Fatalf("cannot be written again: %v", err)
			}
			again := m.ProtoReflect().New().Interface()
			if _, err := document.Decode(written, again, document.Options{MaxBytes: 64 << 20}); err != nil {
				t.Fatalf("cannot be read again: %v\n%s", err, written)
			}
			if !proto.Equal(m, again) {
				t.Fatalf("read again, it is another:\n%s", written)
			}
		}
	})
}

func check(t *testing.T, data []byte, err error) {
	var several document.Errors
	var one *document.Error
	if !errors.As(err, &several) {
		if !errors.As(err, &one) {
			t.Fatalf("got a %T: %v", err, err)
		}
		several = document.Errors{one}
	}
	// All that YAML takes for the end of a line.
	most := 1
	for _, end := range []string{"\n", "\r", "\u0085", "\u2028", "\u2029"} {
		most += bytes.Count(data, []byte(end))
	}
	for _, e := range several {
		if e.File != "f" || e.Message == "" || e.Line < 0 || e.Line > most || e.Line > 0 && e.Column < 1 {
			t.Fatalf("got %#v in a document of %d lines", e, most)
		}
	}
}
