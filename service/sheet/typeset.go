package sheet

import "strings"

// This file breaks text into lines for the PDF.

// The sizes of styles in points; the style sheet of the HTML has the same.
func (st style) points() float64 {
	switch st {
	case big:
		return 13
	case small, smallStrong, mark:
		return 8
	case titleText, headingText:
		return 12
	case placeText:
		return 10.5
	}
	return 9.5
}

func (st style) bold() bool {
	switch st {
	case strong, big, smallStrong, headingText, placeText:
		return true
	}
	return false
}

// leading is the distance of lines as a multiple of the type's size.
const leading = 1.3

// run is a piece of a line in one style.
type run struct {
	text  string
	style style
	x     float64 // from the line's start
}

// textLine is one line of text; the baseline is down from its upper edge.
type textLine struct {
	runs     []run
	height   float64
	baseline float64
}

// atom is a piece of a word in one style. A word is an atom with those after it
// that have no space before.
type atom struct {
	text   string
	style  style
	spaced bool // a space comes before
}

func atomsOf(t text) []atom {
	var out []atom
	spaced := false
	for _, sp := range t {
		s := faceFor(sp.style.bold()).printable(strings.ReplaceAll(sp.text, "\n", " "))
		for s != "" {
			i := strings.IndexByte(s, ' ')
			switch {
			case i == 0:
				spaced = true
				s = s[1:]
			case i < 0:
				out = append(out, atom{text: s, style: sp.style, spaced: spaced})
				spaced, s = false, ""
			default:
				out = append(out, atom{text: s[:i], style: sp.style, spaced: spaced})
				spaced, s = false, s[i:]
			}
		}
	}
	return out
}

// typeset breaks a text into lines no wider than width millimetres. An empty text
// has no lines.
func typeset(t text, width float64) []textLine {
	atoms := atomsOf(t)
	var lines []textLine
	var line []run
	x := 0.0
	flush := func() {
		if len(line) > 0 {
			lines = append(lines, newLine(line))
		}
		line, x = nil, 0
	}
	for i := 0; i < len(atoms); {
		// A word: up to the next space.
		j := i + 1
		for j < len(atoms) && !atoms[j].spaced {
			j++
		}
		word := atoms[i:j]
		i = j
		var w float64
		for _, a := range word {
			w += textWidth(a.text, a.style.points(), a.style.bold())
		}
		space := 0.0
		if len(line) > 0 {
			space = textWidth(" ", word[0].style.points(), word[0].style.bold())
		}
		if len(line) > 0 && x+space+w > width {
			flush()
			space = 0
		}
		x += space
		if space > 0 {
			// The space goes with the word before, so that it can be searched for.
			line[len(line)-1].text += " "
		}
		for _, a := range word {
			rest := a.text
			for {
				head, tail := rest, ""
				if x+textWidth(rest, a.style.points(), a.style.bold()) > width && w > width {
					head, tail = splitWord(rest, a.style.points(), a.style.bold(), width-x)
				}
				line = append(line, run{head, a.style, x})
				x += textWidth(head, a.style.points(), a.style.bold())
				if rest = tail; rest == "" {
					break
				}
				flush()
			}
		}
	}
	flush()
	return lines
}

// newLine joins runs of one style that follow each other and measures the line.
func newLine(runs []run) textLine {
	var out textLine
	largest := 0.0
	for _, r := range runs {
		largest = max(largest, r.style.points())
		if n := len(out.runs); n > 0 && out.runs[n-1].style == r.style {
			out.runs[n-1].text += r.text
			continue
		}
		out.runs = append(out.runs, r)
	}
	size := largest * mmPerPoint
	out.height = size * leading
	out.baseline = out.height/2 + 0.35*size
	return out
}

// ops puts the line on a page with its upper left corner at (x, y).
func (t textLine) ops(x, y float64, colour ink) []op {
	out := make([]op, 0, len(t.runs))
	for _, r := range t.runs {
		out = append(out, textOp(x+r.x, y+t.baseline, r.text, r.style.points(), r.style.bold(), start, colour))
	}
	return out
}

// atMost shortens a text that would take more lines than so many.
func atMost(s string, st style, lines int, width float64) string {
	// Each line may lose the length of a word.
	return ellipsis(s, st.points(), st.bold(), float64(lines)*width*0.9)
}
