package phrase

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Sentence formats and ends with one stop.
func Sentence(format string, args ...any) string { return Stop(fmt.Sprintf(format, args...)) }

// Stop ends a text with one stop, unless it is empty or ends with a mark that
// ends a sentence.
func Stop(s string) string {
	s = strings.TrimSpace(s)
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

// AnyQuoted is [Any] of words that stand for themselves: `"ON" or "RESERVE"`.
func AnyQuoted(words []string) string {
	quoted := make([]string, len(words))
	for i, w := range words {
		quoted[i] = strconv.Quote(w)
	}
	return Any(quoted)
}

func joined(words []string, last string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + last + words[len(words)-1]
}

// Clip shortens a text that somebody wrote, for a message about it.
func Clip(text string) string {
	const most = 40
	runes := 0
	for i := range text {
		if runes++; runes > most {
			return text[:i] + "…"
		}
	}
	return text
}
