package layout

import (
	"strings"
	"unicode"

	"golang.org/x/text/width"
)

// Width returns how many cells s takes. The escape sequences that [Ink] writes
// take none.
func Width(s string) int {
	cells := 0
	escape := false
	for _, r := range s {
		switch {
		case r == '\x1b':
			escape = true
		case escape:
			escape = r != 'm'
		default:
			cells += runeWidth(r)
		}
	}
	return cells
}

// runeWidth is 2 for wide East Asian characters (UAX 11), 0 for marks that
// stand on the character before.
func runeWidth(r rune) int {
	if unicode.In(r, unicode.Mn, unicode.Me) {
		return 0
	}
	switch width.LookupRune(r).Kind() {
	case width.EastAsianWide, width.EastAsianFullwidth:
		return 2
	}
	return 1
}

// Clean returns s on one line and without characters that steer a terminal or
// turn the direction of writing. Runs of space become one blank.
func Clean(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r), unicode.Is(unicode.Cf, r), unicode.Is(unicode.Co, r):
			return -1
		}
		return r
	}, s)
	return strings.Join(strings.Fields(s), " ")
}

// Wrap breaks s at blanks into lines of at most cells cells. A word longer than
// a line is broken. A number stays beside its unit where both fit on a line.
// There is always at least one line.
func Wrap(s string, cells int) []string {
	cells = max(cells, 1)
	var lines []string
	line := ""
	for _, word := range words(Clean(s), cells) {
		switch {
		case line == "":
			line = word
		case Width(line)+1+Width(word) <= cells:
			line += " " + word
		default:
			lines = append(lines, line)
			line = word
		}
		for {
			head, tail := cut(line, cells)
			if tail == "" {
				break
			}
			lines = append(lines, head)
			line = tail
		}
	}
	return append(lines, line)
}

// words splits at blanks, but keeps a number together with what follows when
// that is no longer than a unit is.
func words(s string, cells int) []string {
	const longestUnit = 9
	fields := strings.Fields(s)
	var result []string
	for i := 0; i < len(fields); i++ {
		word := fields[i]
		if i+1 < len(fields) && isNumber(word) {
			if next := fields[i+1]; Width(next) <= longestUnit && Width(word)+1+Width(next) <= cells {
				word += " " + next
				i++
			}
		}
		result = append(result, word)
	}
	return result
}

func isNumber(s string) bool {
	digits := false
	for _, r := range s {
		switch {
		case unicode.IsNumber(r):
			digits = true
		case !strings.ContainsRune("+-±.,/", r):
			return false
		}
	}
	return digits
}

// cut splits s after at most cells cells, at least one character.
func cut(s string, cells int) (head, tail string) {
	used := 0
	for i, r := range s {
		w := runeWidth(r)
		if used+w > cells && i > 0 {
			return s[:i], s[i:]
		}
		used += w
	}
	return s, ""
}

// Shorten returns s in at most cells cells, with an ellipsis where something
// was left out.
func Shorten(s string, cells int) string {
	if Width(s) <= cells {
		return s
	}
	if cells <= 1 {
		return strings.Repeat("…", max(cells, 0))
	}
	head, _ := cut(s, cells-1)
	return strings.TrimRight(head, " ") + "…"
}

// Pad fills s with blanks on the right up to cells cells.
func Pad(s string, cells int) string {
	return s + strings.Repeat(" ", max(cells-Width(s), 0))
}
