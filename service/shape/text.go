package shape

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// atMost reports whether a text has at most n characters, counted as
// protovalidate does: a byte that is no UTF-8 is one.
func atMost(s string, n int) bool {
	return len(s) <= n || utf8.RuneCountInString(s) <= n
}

// class is a set of ASCII characters. No byte of a longer character is in any.
type class uint8

const (
	lower class = 1 << iota
	upper
	digit
	hex
	hyphen
	underscore
)

var classes = func() (of [256]class) {
	in := func(c class, characters string) {
		for i := range len(characters) {
			of[characters[i]] |= c
		}
	}
	in(lower, "abcdefghijklmnopqrstuvwxyz")
	in(upper, "ABCDEFGHIJKLMNOPQRSTUVWXYZ")
	in(digit, "0123456789")
	in(hex, "0123456789abcdefABCDEF")
	in(hyphen, "-")
	in(underscore, "_")
	return of
}()

// isAll reports whether a text has characters of a class only, or none.
func isAll(s string, c class) bool {
	for i := range len(s) {
		if classes[s[i]]&c == 0 {
			return false
		}
	}
	return true
}

// isIdentifier matches ^[a-z][a-z0-9_]{0,62}$.
func isIdentifier(s string) bool {
	return s != "" && len(s) <= 63 && classes[s[0]]&lower != 0 && isAll(s[1:], lower|digit|underscore)
}

// isShop matches ^[a-z0-9]([a-z0-9-]{0,62}[a-z0-9])?$.
func isShop(s string) bool {
	return s != "" && len(s) <= 64 && s[0] != '-' && s[len(s)-1] != '-' && isAll(s, lower|digit|hyphen)
}

// isInstrumentID matches ^[a-z0-9]([a-z0-9_-]{0,62})$.
func isInstrumentID(s string) bool {
	return s != "" && len(s) <= 63 && classes[s[0]]&(lower|digit) != 0 && isAll(s, lower|digit|underscore|hyphen)
}

// isMarket matches ^[A-Z]{2}$.
func isMarket(s string) bool {
	return len(s) == 2 && isAll(s, upper)
}

// isSetupName matches ^setups/[a-z0-9-]{1,64}$.
func isSetupName(s string) bool {
	id, ok := strings.CutPrefix(s, "setups/")
	return ok && id != "" && len(id) <= 64 && isAll(id, lower|digit|hyphen)
}

// isUUID matches what protovalidate takes for a UUID: digits in either case, of
// any version, with hyphens.
func isUUID(s string) bool {
	return len(s) == 36 &&
		s[8] == '-' && s[13] == '-' && s[18] == '-' && s[23] == '-' &&
		isAll(s[:8], hex) && isAll(s[9:13], hex) && isAll(s[14:18], hex) && isAll(s[19:23], hex) && isAll(s[24:], hex)
}

// isPrintable is true only for what matches ^[^\p{C}]*$.
func isPrintable(s string) bool {
	printable, _ := look(s)
	return printable
}

// isPerson is true only for what matches ^[^\p{C}]*[^\p{C}\p{Z}][^\p{C}]*$.
func isPerson(s string) bool {
	printable, ink := look(s)
	return printable && ink
}

// look reports whether a text is certainly printable, and whether it leaves ink:
// whether it is more than spaces.
func look(s string) (printable, ink bool) {
	for i := range len(s) {
		switch c := s[i]; {
		case c >= utf8.RuneSelf:
			return lookFurther(s[i:], ink)
		case c < ' ' || c == 0x7f:
			return false, false
		case c != ' ':
			ink = true
		}
	}
	return true, ink
}

// lookFurther is [look] for any text. Unicode's categories L, M, N, P, S and Zs,
// which are graphic, have nothing in common with C. Line separators are not
// graphic and would be allowed; they are as rare as what stands for an error of
// encoding.
func lookFurther(s string, ink bool) (printable, inked bool) {
	for _, r := range s {
		if r == utf8.RuneError || !unicode.IsGraphic(r) {
			return false, false
		}
		ink = ink || r != ' ' && unicode.IsPrint(r)
	}
	return true, ink
}
