package store_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/snapgauge/snapgauge/service/store"
)

func TestName(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]string{
		"setups/0195-a": "0195-a", "setups/": "", "setups": "", "": "", "specs/a": "", "setups/A": "", "setups/a/b": "",
		"setups/" + strings.Repeat("a", 64): strings.Repeat("a", 64), "setups/" + strings.Repeat("a", 65): "", "setups/a\n": "",
	} {
		got, ok := store.ParseName(name)
		if got != want || ok != (want != "") {
			t.Errorf("%q: got %q, %t, wanted %q", name, got, ok, want)
		}
		if ok && store.Name(got) != name {
			t.Errorf("Name(%q): got %q", got, store.Name(got))
		}
	}
}

func TestFieldValues(t *testing.T) {
	t.Parallel()
	for field, want := range map[store.Field][]string{
		store.FieldPhase:   {"PRE_DELIVERY", "HANDOVER", "FIRST_SERVICE", "SERVICE"},
		store.FieldVerdict: {"ACCEPT", "REJECT", "INCOMPLETE", "REFER"},
		store.FieldShop:    nil,
	} {
		if diff := cmp.Diff(want, field.Values()); diff != "" {
			t.Errorf("%s: (-want +got)\n%s", field, diff)
		}
	}
	for _, field := range store.Fields() {
		if kind, ok := field.Kind(); !ok || (kind == store.KindEnum) != (field.Values() != nil) {
			t.Errorf("%s: kind %d, values %v", field, kind, field.Values())
		}
	}
}
