package recordjson

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/snapgauge/snapgauge/service/phrase"
)

func (d *decoder) space() {
	for d.at < len(d.text) {
		switch d.text[d.at] {
		case ' ', '\t', '\r', '\n':
			d.at++
		default:
			return
		}
	}
}

// peek returns the byte that is next, nought at the end.
func (d *decoder) peek() byte {
	if d.at < len(d.text) {
		return d.text[d.at]
	}
	return 0
}

// object reads an object; field reads the value of the field of that name.
func (d *decoder) object(field func(name string) bool) bool {
	if d.peek() != '{' {
		return d.unwanted("fields in braces")
	}
	d.at++
	if d.space(); d.peek() == '}' {
		d.at++
		return true
	}
	for {
		if d.space(); d.peek() != '"' {
			return d.unwanted("the name of a field in quotes")
		}
		name, ok := d.quoted()
		if !ok {
			return false
		}
		if d.space(); d.peek() != ':' {
			return d.unwanted(`":" after the name of a field`)
		}
		d.at++
		d.space()
		if !field(name) {
			if d.path == "" || d.path[0] == '[' {
				d.path = name + d.path
			} else {
				d.path = name + "." + d.path
			}
			return false
		}
		switch d.space(); d.peek() {
		case ',':
			d.at++
		case '}':
			d.at++
			return true
		default:
			return d.unwanted(`"," or "}"`)
		}
	}
}

// list reads a list; item reads one of its values.
func (d *decoder) list(item func() bool) bool {
	if d.peek() != '[' {
		return d.unwanted("a list in brackets")
	}
	d.at++
	if d.space(); d.peek() == ']' {
		d.at++
		return true
	}
	for i := 0; ; i++ {
		d.space()
		ok := false
		if d.peek() == 'n' {
			d.unwanted("a value")
		} else {
			ok = item()
		}
		if !ok {
			index := "[" + strconv.Itoa(i) + "]"
			if d.path != "" && d.path[0] != '[' {
				index += "."
			}
			d.path = index + d.path
			return false
		}
		switch d.space(); d.peek() {
		case ',':
			d.at++
		case ']':
			d.at++
			return true
		default:
			return d.unwanted(`"," or "]"`)
		}
	}
}

// word takes true, false or null if it stands here.
func (d *decoder) word(word string) bool {
	if !strings.HasPrefix(d.text[d.at:], word) {
		return false
	}
	d.at += len(word)
	return true
}

// null takes a null, which means that the field is left out.
func (d *decoder) null() bool { return d.peek() == 'n' && d.word("null") }

// plain holds the bytes that stand for themselves within quotes.
var plain = func() (is [256]bool) {
	for c := range is {
		is[c] = c >= ' ' && c != '"' && c != '\\'
	}
	return is
}()

// quoted reads a text in quotes, which must be next.
func (d *decoder) quoted() (string, bool) {
	start := d.at + 1
	end := start
	for end < len(d.text) && plain[d.text[end]] {
		end++
	}
	if end < len(d.text) && d.text[end] == '"' {
		d.at = end + 1
		return d.text[start:end], true
	}
	return d.escaped(start, end)
}

// escaped reads on where the text is not all plain.
func (d *decoder) escaped(start, at int) (string, bool) {
	var b strings.Builder
	b.WriteString(d.text[start:at])
	for at < len(d.text) {
		c := d.text[at]
		switch {
		case plain[c]:
			b.WriteByte(c)
			at++
		case c == '"':
			d.at = at + 1
			return b.String(), true
		case c != '\\':
			return "", d.fail(at, "got the control character %U in a text", c)
		default:
			r, size := unescape(d.text[at:])
			switch {
			case size == 0:
				return "", d.fail(at, `got a "\" that means nothing; write it twice`)
			case r == 0:
				return "", d.fail(at, "got a NUL character in the text")
			}
			b.WriteRune(r)
			at += size
		}
	}
	return "", d.fail(start-1, "a quotation mark is not closed")
}

const simpleEscapes = "\"\"\\\\//b\bf\fn\nr\rt\t" // in pairs: what stands for what

// unescape reads the escape sequence that s begins with. A size of nought means
// that it is none.
func unescape(s string) (r rune, size int) {
	if len(s) < 2 {
		return 0, 0
	}
	if s[1] != 'u' {
		for i := 0; i < len(simpleEscapes); i += 2 {
			if s[1] == simpleEscapes[i] {
				return rune(simpleEscapes[i+1]), 2
			}
		}
		return 0, 0
	}
	r, ok := hexadecimal(s)
	switch {
	case !ok:
		return 0, 0
	case !utf16.IsSurrogate(r):
		return r, 6
	}
	low, ok := hexadecimal(s[6:])
	if r = utf16.DecodeRune(r, low); !ok || r == utf8.RuneError {
		return 0, 0 // half a pair
	}
	return r, 12
}

func hexadecimal(s string) (rune, bool) {
	if len(s) < 6 || s[0] != '\\' || s[1] != 'u' {
		return 0, false
	}
	n := rune(0)
	for _, c := range []byte(s[2:6]) {
		switch {
		case c >= '0' && c <= '9':
			c -= '0'
		case c >= 'a' && c <= 'f':
			c -= 'a' - 10
		case c >= 'A' && c <= 'F':
			c -= 'A' - 10
		default:
			return 0, false
		}
		n = n<<4 | rune(c)
	}
	return n, true
}

// numeral returns how much of the beginning of s is a number (RFC 8259, 6).
func numeral(s string) int {
	i := 0
	digits := func() bool {
		start := i
		for i < len(s) && s[i] >= '0' && s[i] <= '9' {
			i++
		}
		return i > start
	}
	if i < len(s) && s[i] == '-' {
		i++
	}
	switch {
	case i < len(s) && s[i] == '0':
		i++
	case !digits():
		return 0
	}
	if i < len(s) && s[i] == '.' {
		if i++; !digits() {
			return 0
		}
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		if i++; i < len(s) && (s[i] == '+' || s[i] == '-') {
			i++
		}
		if !digits() {
			return 0
		}
	}
	return i
}

// found says what stands here.
func (d *decoder) found() string {
	rest := d.text[d.at:]
	switch {
	case rest == "":
		return "the end of the line"
	case rest[0] == '{':
		return "fields"
	case rest[0] == '[':
		return "a list"
	case rest[0] == '"':
		return "text " + strconv.Quote(phrase.Clip(contents(rest)))
	case strings.HasPrefix(rest, "null"):
		return "nothing"
	case numeral(rest) > 0:
		return "the number " + phrase.Clip(rest[:numeral(rest)])
	}
	r, size := utf8.DecodeRuneInString(rest)
	if r < ' ' {
		return fmt.Sprintf("the control character %U", r)
	}
	if end := strings.IndexAny(rest, " \t,:]}\""); end > 0 {
		size = end
	} else if end < 0 {
		size = len(rest)
	}
	return phrase.Clip(rest[:size])
}

// contents is what stands in the quotes that s begins with, as it is written.
func contents(s string) string {
	s = s[1:]
	if end := strings.IndexByte(s, '"'); end >= 0 {
		s = s[:end]
	}
	return s
}
