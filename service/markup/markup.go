// Package markup keeps texts what they are on the pages that the service makes,
// whatever they are: package html/template sees to the rest.
package markup

import (
	"fmt"
	"strings"
)

// Printable drops what no page may hold, control characters, and what turns the
// order of the words around: it is for [bytes.Map] and [strings.Map]. Bytes that
// are not text become U+FFFD.
func Printable(r rune) rune {
	switch {
	case r == '\n', r == '\t':
		return r
	case r < ' ', r >= 0x7f && r < 0xa0, r >= 0x202a && r <= 0x202e, r >= 0x2066 && r <= 0x2069, r == 0xfffe, r == 0xffff:
		return -1
	}
	return r
}

// CSSString writes what is printable of a text as a CSS string, in which only
// letters, digits and spaces stand for themselves, so that nothing can end it or
// the style sheet.
func CSSString(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range strings.Map(Printable, s) {
		switch {
		case r == ' ', r >= '0' && r <= '9', r >= 'A' && r <= 'Z', r >= 'a' && r <= 'z':
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, `\%x `, r) // the space ends the escape
		}
	}
	b.WriteByte('"')
	return b.String()
}
