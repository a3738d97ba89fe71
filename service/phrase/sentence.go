package phrase

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Sentence formats and ends with one stop.
func Sentence(format string, args ...any) string {
	s := strings.TrimSpace(fmt.Sprintf(format, args...))
	if s == "" || strings.HasSuffix(s, ".") || strings.HasSuffix(s, "!") || strings.HasSuffix(s, "?") {
		return s
	}
	return s + "."
}

// LowerFirst lowers the first letter of a name inside a sentence, unless the
// word is an abbreviation: "Two-stroke oil" but not "SAE 80W".
func LowerFirst(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	second, _ := utf8.DecodeRuneInString(s[n:])
	if !unicode.IsUpper(first) || unicode.IsUpper(second) || unicode.IsDigit(second) {
		return s
	}
	return string(unicode.ToLower(first)) + s[n:]
}

// UpperFirst raises the first letter, for the beginning of a sentence.
func UpperFirst(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(first)) + s[n:]
}

// All joins words as a sentence does: "a, b and c".
func All(words []string) string { return joined(words, " and ") }

// Any joins words of which one will do: "a, b or c".
func Any(words []string) string { return joined(words, " or ") }

func joined(words []string, last string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + last + words[len(words)-1]
}
