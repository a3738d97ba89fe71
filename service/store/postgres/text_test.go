package postgres

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestText(t *testing.T) {
	t.Parallel()
	text := rapid.StringOf(rapid.SampledFrom([]rune{0, 1, 2, 3, 'a', 'ö'}))
	rapid.Check(t, func(t *rapid.T) {
		a, b := text.Draw(t, "a"), text.Draw(t, "b")
		if rapid.Bool().Draw(t, "longer") {
			b = a + b
		}
		kept := toText(a)
		if strings.Contains(kept, "\x00") {
			t.Fatalf("%q has NUL", kept)
		}
		if restore(&kept); kept != a {
			t.Fatalf("got %q, wanted %q", kept, a)
		}
		if strings.HasPrefix(b, a) != strings.HasPrefix(toText(b), toText(a)) || (a == b) != (toText(a) == toText(b)) {
			t.Fatalf("%q and %q stand otherwise to each other", a, b)
		}
	})
}
