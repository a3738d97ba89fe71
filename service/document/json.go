package document

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strconv"
	"unicode/utf16"
	"unicode/utf8"
)

// fromJSON turns JSON into YAML of the same meaning. The two differ only within
// quotes: in how some characters are escaped, and in which must be. Lines stay
// where they are. Data that is not a JSON object is returned as it is.
func fromJSON(data []byte) []byte {
	text := bytes.TrimPrefix(data, []byte("\ufeff"))
	if first := bytes.TrimLeft(text, " \t\r\n"); len(first) == 0 || first[0] != '{' || !json.Valid(text) {
		return data
	}
	result := make([]byte, 0, len(text)+len(text)/16)
	for len(text) > 0 {
		r, size := utf8.DecodeRune(text)
		switch {
		case r == '\\': // within quotes, since this is JSON
			var escape []byte
			escape, size = fromEscape(text)
			result = append(result, escape...)
		case r >= 0x7f && r <= 0x9f, r == 0x2028, r == 0x2029, r == 0xfeff, r == 0xfffe, r == 0xffff:
			result = fmt.Appendf(result, `\u%04x`, r)
		default:
			result = append(result, text[:size]...)
		}
		text = text[size:]
	}
	return result
}

// fromEscape turns the escape that text begins with into that of YAML, and tells
// how long it was.
func fromEscape(text []byte) (escape []byte, size int) {
	switch text[1] {
	case '/':
		return text[1:2], 2
	case 'u':
		high := hexadecimal(text[2:6])
		if utf16.IsSurrogate(high) && len(text) >= 12 && text[6] == '\\' && text[7] == 'u' {
			if r := utf16.DecodeRune(high, hexadecimal(text[8:12])); r != utf8.RuneError {
				return fmt.Appendf(nil, `\U%08X`, r), 12
			}
		}
		return text[:6], 6
	}
	return text[:2], 2
}

func hexadecimal(digits []byte) rune {
	n, _ := strconv.ParseUint(string(digits), 16, 16)
	return rune(n)
}
