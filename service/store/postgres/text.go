package postgres

import "strings"

// The two replacers map texts with NUL to texts without and back. Each character
// has an image of its own that begins no other's, so that equal and unequal,
// prefix and no prefix stay what they are.
var (
	intoText = strings.NewReplacer("\x00", "\x01\x02", "\x01", "\x01\x03")
	fromText = strings.NewReplacer("\x01\x02", "\x00", "\x01\x03", "\x01")
)

// toText returns what the database keeps for s.
func toText(s string) string {
	if !strings.ContainsAny(s, "\x00\x01") {
		return s
	}
	return intoText.Replace(s)
}

// restore turns what the database keeps into what it was, in place.
func restore(texts ...*string) {
	for _, s := range texts {
		if strings.Contains(*s, "\x01") {
			*s = fromText.Replace(*s)
		}
	}
}
