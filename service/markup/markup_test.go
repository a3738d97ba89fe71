package markup

import (
	"strings"
	"testing"
)

func TestPrintable(t *testing.T) {
	for in, want := range map[string]string{
		"plain, ö 発 🏍️":                          "plain, ö 発 🏍️",
		"a\nb\tc\rd":                             "a\nb\tcd",
		"nul\x00bell\x07esc\x1b[31m":             "nulbellesc[31m",
		"\u202egnp.exe\u202c \u2066turned\u2069": "gnp.exe turned",
		"a\xffb\u0085\ufffe":                     "a\ufffdb",
	} {
		if got := strings.Map(Printable, in); got != want {
			t.Errorf("%q: got %q, want %q", in, got, want)
		}
	}
}

func TestCSSString(t *testing.T) {
	for in, want := range map[string]string{
		"Scree 200i":      `"Scree 200i"`,
		`a"b`:             `"a\22 b"`,
		"</style>":        `"\3c \2f style\3e "`,
		"a\\b\n":          `"a\5c b\a "`,
		"x\x00\u202ey":    `"xy"`,
		"N·m, 2026":       `"N\b7 m\2c  2026"`,
		"\U0001f3cd bike": `"\1f3cd  bike"`,
	} {
		if got := CSSString(in); got != want {
			t.Errorf("CSSString(%q) = %s, want %s", in, got, want)
		}
	}
}
