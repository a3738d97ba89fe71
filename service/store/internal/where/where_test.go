package where

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/snapgauge/snapgauge/service/store"
)

func TestColumns(t *testing.T) {
	t.Parallel()
	if len(columns) != len(store.Fields()) {
		t.Errorf("got columns for %d fields, wanted %d", len(columns), len(store.Fields()))
	}
	for _, f := range store.Fields() {
		if columns[f] == "" {
			t.Errorf("%s has no column", f)
		}
	}
}

func TestAfterPrefix(t *testing.T) {
	t.Parallel()
	for prefix, want := range map[string]string{
		"a": "b", "az": "a{", "0VS": "0VT", "ö": "÷", "\x7f": "\u0080", "\uD7FF": "\uE000",
		"a\U0010FFFF": "b", "\U0010FFFF\U0010FFFF": "", "": "",
	} {
		if got, ok := afterPrefix(prefix); got != want || ok != (want != "") {
			t.Errorf("%q: got %q, %t, wanted %q", prefix, got, ok, want)
		}
	}
}

// TestIsSpec holds the short cut to what it stands for, over texts that are made
// to mislead it.
func TestIsSpec(t *testing.T) {
	t.Parallel()
	upToFirst := func(s string) string { // as the index has it
		if i := strings.Index(s, "/revisions/"); i >= 0 {
			return s[:i+11]
		}
		return s[:min(10, len(s))]
	}
	text := rapid.Custom(func(t *rapid.T) string {
		return strings.Join(rapid.SliceOfN(rapid.SampledFrom([]string{"specs/a", "/revisions", "/", "revisions/", "1", "s"}), 0, 6).Draw(t, "parts"), "")
	})
	rapid.Check(t, func(t *rapid.T) {
		prefix, value := text.Draw(t, "prefix"), text.Draw(t, "value")
		if rapid.Bool().Draw(t, "longer") {
			value = prefix + value
		}
		if isSpec(prefix) && strings.HasPrefix(value, prefix) != (upToFirst(value) == prefix) {
			t.Fatalf("%q begins with %q: %t", value, prefix, strings.HasPrefix(value, prefix))
		}
	})
	for prefix, want := range map[string]bool{
		"specs/a/revisions/": true, "specs/a/revisions": false, "specs/a/revisions/1": false, "/revisions/": false,
		"": false, "specs/": false, "specs/a/revisions/revisions/": false,
	} {
		if isSpec(prefix) != want {
			t.Errorf("%q: got %t", prefix, !want)
		}
	}
}
