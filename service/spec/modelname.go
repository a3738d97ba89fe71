package spec

import (
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/snapgauge/snapgauge/service/near"
)

// This file says how a text is like the name of a model, for whoever holds
// sheets: a [Library] of them, or a view of the published ones.

// ModelNames returns the names by which a record may call a model: its own, its
// other names, and each with the maker's before it.
func ModelNames(maker, model string, aliases []string) []string {
	names := make([]string, 0, 2+2*len(aliases))
	for _, name := range append([]string{model}, aliases...) {
		names = append(names, name, maker+" "+name)
	}
	return names
}

// FoldModel makes names equal that differ only in case, accents, spaces,
// hyphens and other signs.
func FoldModel(name string) string { return strings.Join(words(name), "") }

// LeadingWords returns the first word of a name, its first two, and so on to
// the whole of it, each folded.
func LeadingWords(name string) []string {
	list := words(name)
	for i := 1; i < len(list); i++ {
		list[i] = list[i-1] + list[i]
	}
	return list
}

// CutYear takes a model year out of the words of a name.
func CutYear(model string) (rest string, year int, ok bool) {
	fields := strings.Fields(model)
	for i, field := range fields {
		if y, err := strconv.Atoi(field); err == nil && y >= 1980 && y <= 2100 {
			return strings.Join(slices.Delete(fields, i, i+1), " "), y, true
		}
	}
	return "", 0, false
}

// Likeness is how a text is like a name of a model; less is better.
type Likeness int

// The likenesses, best first.
const (
	Named   Likeness = iota // it is the name
	Leading                 // it is its first words
	Begun                   // it begins it
	Slipped                 // it is one slip from the name or its first words; then one more for each
	Unlike  = Slipped + 100
)

// ModelText is a folded text that may mean a model, made ready to be held
// against many names.
type ModelText struct {
	text, numbers string
	limit         int
}

// ReadModel makes a folded text ready.
func ReadModel(folded string) ModelText {
	return ModelText{text: folded, numbers: digits(folded), limit: near.Trusted(utf8.RuneCountInString(folded))}
}

// Like says how the text is like folded leading words of a name; it never says
// [Named], which is for whole names. Slips are forgiven as far as [near.Trusted],
// but none in a number, unless one digit of several was left out or put in: a
// model of another number is another model.
func (t ModelText) Like(lead string) Likeness {
	switch {
	case lead == t.text:
		return Leading
	case len(t.text) >= 3 && strings.HasPrefix(lead, t.text):
		return Begun
	case t.limit > 0:
		if d := near.Distance(t.text, lead, t.limit); d <= t.limit && sameNumber(t.numbers, digits(lead)) {
			return Slipped + Likeness(d-1)
		}
	}
	return Unlike
}

// sameNumber reports whether the digits of two names are the same but for one,
// of two at least, left out.
func sameNumber(a, b string) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	return a == b || len(a) > 1 && len(a)+1 == len(b) && near.Distance(a, b, 1) == 1
}

func digits(s string) string {
	return strings.Map(func(r rune) rune {
		if r < '0' || r > '9' {
			return -1
		}
		return r
	}, s)
}
