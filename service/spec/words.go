package spec

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// words splits a text into words of small ASCII letters and digits where it can
// be: accents are dropped, signs separate, a point or comma between digits is a
// point, and an apostrophe joins.
func words(text string) []string {
	var result []string
	var word strings.Builder
	flush := func() {
		if word.Len() > 0 {
			result = append(result, word.String())
			word.Reset()
		}
	}
	runes := []rune(decompose(text))
	for i, r := range runes {
		switch {
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			r = unicode.ToLower(r)
			if plain, ok := plainLetters[r]; ok {
				word.WriteString(plain)
			} else {
				word.WriteRune(r)
			}
		case unicode.Is(unicode.Mn, r) || r == '\'' || r == '’':
		case (r == '.' || r == ',') && i > 0 && i+1 < len(runes) && unicode.IsDigit(runes[i-1]) && unicode.IsDigit(runes[i+1]):
			word.WriteByte('.')
		default:
			flush()
		}
	}
	flush()
	return result
}

// decompose separates letters from their accents.
func decompose(text string) string {
	for i := range len(text) {
		if text[i] >= 0x80 {
			return norm.NFKD.String(text)
		}
	}
	return text
}

// plainLetters holds letters that do not decompose, in ASCII.
var plainLetters = map[rune]string{'ß': "ss", 'æ': "ae", 'œ': "oe", 'ø': "o", 'đ': "d", 'ł': "l", 'ð': "d", 'þ': "th", 'ı': "i"}

// singular takes the ending of an English plural off a word. It need not give a
// word, only the same text for singular and plural.
func singular(word string) string {
	n := len(word)
	switch {
	case n < 4 || word[n-1] != 's':
		return word
	case strings.HasSuffix(word, "ss"), strings.HasSuffix(word, "us"), strings.HasSuffix(word, "is"):
		return word
	case strings.HasSuffix(word, "ies") && n > 4:
		return word[:n-3] + "y"
	case strings.HasSuffix(word, "ches"), strings.HasSuffix(word, "shes"), strings.HasSuffix(word, "sses"), strings.HasSuffix(word, "xes"):
		return word[:n-2]
	}
	return word[:n-1]
}
