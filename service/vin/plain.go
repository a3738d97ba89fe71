package vin

import (
	"strings"
	"unicode"
)

// Plain writes a VIN, or what was meant to be one, without spaces and hyphens
// and in capitals, as [Parse] reads it. It refuses nothing: one machine's
// number, however it was written, and even where it is malformed, comes out the
// same.
func Plain(s string) string {
	if isClean(s) {
		return s
	}
	return strings.Map(func(r rune) rune {
		if r == '-' || unicode.IsSpace(r) {
			return -1
		}
		return unicode.ToUpper(r)
	}, s)
}
