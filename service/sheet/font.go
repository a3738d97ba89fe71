package sheet

import (
	"strings"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// The PDF is set in the Go typeface. Drawings are laid out by its widths in both
// renderers; the typefaces that the HTML asks for are no wider.

// mmPerPoint is one desktop-publishing point, 1/72 in.
const mmPerPoint = 25.4 / 72

type face struct {
	data  []byte
	font  *sfnt.Font
	mu    sync.Mutex // guards buf and width
	buf   sfnt.Buffer
	width map[rune]float64
}

var faces = [2]*face{newFace(goregular.TTF), newFace(gobold.TTF)}

// faceFor returns the regular or the bold face.
func faceFor(bold bool) *face {
	if bold {
		return faces[1]
	}
	return faces[0]
}

// newFace parses lazily: a program that prints nothing does not pay for it.
func newFace(data []byte) *face { return &face{data: data} }

// unitsPerEm at which widths are measured.
const unitsPerEm = 2048

// advance returns the width of a rune at a size of one, and whether the face has
// it.
func (f *face) advance(r rune) (float64, bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if w, ok := f.width[r]; ok {
		return w, w >= 0
	}
	if f.font == nil {
		parsed, err := sfnt.Parse(f.data)
		if err != nil {
			return 0.5, false // the faces are compiled in and parse
		}
		f.font, f.width = parsed, make(map[rune]float64)
	}
	w := -1.0
	if i, err := f.font.GlyphIndex(&f.buf, r); err == nil && i != 0 {
		if a, err := f.font.GlyphAdvance(&f.buf, i, fixed.I(unitsPerEm), font.HintingNone); err == nil {
			w = float64(a) / 64 / unitsPerEm
		}
	}
	f.width[r] = w
	return w, w >= 0
}

// missing stands for a character that the typeface lacks.
const missing = '□'

// printable replaces what the typeface lacks, and control characters by spaces.
func (f *face) printable(s string) string {
	clean := true
	for _, r := range s {
		if _, ok := f.advance(r); !ok || r < ' ' {
			clean = false
			break
		}
	}
	if clean {
		return s
	}
	out := make([]rune, 0, len(s))
	for _, r := range s {
		switch _, ok := f.advance(r); {
		case r < ' ' || r == 0x7f || r == 0x2028 || r == 0x2029:
			out = append(out, ' ')
		case zeroWidth(r):
		case !ok:
			out = append(out, missing)
		default:
			out = append(out, r)
		}
	}
	return string(out)
}

// zeroWidth says whether a rune only steers other ones: joiners, marks of
// direction, the byte order mark.
func zeroWidth(r rune) bool {
	return r >= 0x200b && r <= 0x200f || r >= 0x202a && r <= 0x202e || r >= 0x2060 && r <= 0x2069 || r == 0xfeff || r == 0xad
}

// textWidth is the width of a text in millimetres.
func textWidth(s string, points float64, bold bool) float64 {
	f := faceFor(bold)
	var sum float64
	for _, r := range s {
		w, ok := f.advance(r)
		if !ok {
			w, _ = f.advance(missing)
		}
		sum += w
	}
	return sum * points * mmPerPoint
}

// wrapWords breaks a text into lines no wider than width millimetres. A word
// wider than that is broken. There is always one line at least.
func wrapWords(s string, points, width float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		joined := word
		if line != "" {
			joined = line + " " + word
		}
		if textWidth(joined, points, false) <= width {
			line = joined
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		line = word
		for textWidth(line, points, false) > width {
			head, tail := splitWord(line, points, false, width)
			if tail == "" {
				break
			}
			lines, line = append(lines, head), tail
		}
	}
	return append(lines, line)
}

// splitWord breaks a word after as many characters as fit, one at least.
func splitWord(word string, points float64, bold bool, width float64) (head, tail string) {
	var sum float64
	for i, r := range word {
		sum += textWidth(string(r), points, bold)
		if i > 0 && sum > width {
			return word[:i], word[i:]
		}
	}
	return word, ""
}

// ellipsis shortens a text that is wider than width millimetres.
func ellipsis(s string, points float64, bold bool, width float64) string {
	if textWidth(s, points, bold) <= width {
		return s
	}
	head, _ := splitWord(s, points, bold, width-textWidth("…", points, bold))
	return strings.TrimSpace(head) + "…"
}
