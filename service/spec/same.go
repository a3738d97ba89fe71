package spec

import (
	"strings"
	"unicode"

	"github.com/snapgauge/snapgauge/service/workshop"
)

// FoldWord makes equal what people write for one thing: case does not matter, nor
// whether words are parted by spaces, hyphens or underscores.
func FoldWord(s string) string {
	words := strings.FieldsFunc(strings.ToLower(s), func(r rune) bool {
		return r == '-' || r == '_' || unicode.IsSpace(r)
	})
	return strings.Join(words, " ")
}

// SameWord reports whether two texts are one word as [FoldWord] has it. So are
// choices and property classes compared with what a sheet accepts.
func SameWord(a, b string) bool { return FoldWord(a) == FoldWord(b) }

// SameThread compares thread designations: a coarse pitch may be left out (ISO
// 965-1). What is none is compared as words.
func SameThread(a, b string) bool {
	ta, errA := workshop.ParseThread(a)
	tb, errB := workshop.ParseThread(b)
	if errA != nil || errB != nil {
		return SameWord(a, b)
	}
	return ta == tb
}
