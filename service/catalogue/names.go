package catalogue

import (
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"github.com/snapgauge/snapgauge/service/near"
	"github.com/snapgauge/snapgauge/service/spec"
)

// How a text is like the name of a model is for package spec to say, whose
// library does it for a fixed set of sheets: its words, foldModel, leadingWords,
// modelNames, cutYear, sameNumber, likeness and Library.like are not exported,
// so this file does the same over heads. TestMatchesAsLibrary holds the two
// together.

// maxSuggestions is how many names a [spec.NotFoundError] offers.
const maxSuggestions = 5

// modelNames returns the names by which a record may call the model of a head.
func modelNames(h *Head) []string {
	names := []string{h.Model, h.Make + " " + h.Model}
	for _, alias := range h.ModelAliases {
		names = append(names, alias, h.Make+" "+alias)
	}
	return names
}

// foldModel makes names equal that differ only in case, accents, spaces,
// hyphens and other signs.
func foldModel(name string) string { return strings.Join(words(name), "") }

// leadingWords returns the first word of a name, its first two, and so on to
// the whole of it, each folded.
func leadingWords(name string) []string {
	list := words(name)
	for i := 1; i < len(list); i++ {
		list[i] = list[i-1] + list[i]
	}
	return list
}

// words splits a text into words of small ASCII letters and digits where it can
// be.
func words(text string) []string {
	var result []string
	var word strings.Builder
	flush := func() {
		if word.Len() > 0 {
			result = append(result, word.String())
			word.Reset()
		}
	}
	if strings.ContainsFunc(text, func(r rune) bool { return r >= utf8.RuneSelf }) {
		text = norm.NFKD.String(text)
	}
	runes := []rune(text)
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

// plainLetters holds letters that do not decompose, in ASCII.
var plainLetters = map[rune]string{'ß': "ss", 'æ': "ae", 'œ': "oe", 'ø': "o", 'đ': "d", 'ł': "l", 'ð': "d", 'þ': "th", 'ı': "i"}

// likeness is how a text is like a name of a model; less is better.
type likeness int

const (
	named   likeness = iota // it is the name
	leading                 // it is its first words
	begun                   // it begins it
	slipped                 // it is one slip from the name or its first words; then one more for each
	unlike  = slipped + 100
)

// like returns those of the specs that have a name most like the folded text,
// and how it is like it. No slip is forgiven in a number, unless one digit of
// several was left out or put in: a model of another number is another model.
func like(text string, specs []*history) (found []*history, how likeness) {
	if text == "" {
		return nil, unlike
	}
	how = unlike
	limit, numbers := near.Trusted(utf8.RuneCountInString(text)), digits(text)
	for _, s := range specs {
		likely := unlike
		if slices.Contains(s.names, text) {
			likely = named
		} else {
			for _, lead := range s.leads {
				likely = min(likely, likenessOf(text, numbers, lead, limit))
			}
		}
		if likely < how {
			how, found = likely, nil
		}
		if likely == how && likely < unlike {
			found = append(found, s)
		}
	}
	return found, how
}

func likenessOf(text, numbers, lead string, limit int) likeness {
	switch {
	case lead == text:
		return leading
	case len(text) >= 3 && strings.HasPrefix(lead, text):
		return begun
	case limit > 0:
		if d := near.Distance(text, lead, limit); d <= limit && sameNumber(numbers, digits(lead)) {
			return slipped + likeness(d-1)
		}
	}
	return unlike
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

// cutYear takes a model year out of the words of a name.
func cutYear(model string) (rest string, year int, ok bool) {
	fields := strings.Fields(model)
	for i, field := range fields {
		if y, err := strconv.Atoi(field); err == nil && y >= 1980 && y <= 2100 {
			return strings.Join(slices.Delete(fields, i, i+1), " "), y, true
		}
	}
	return "", 0, false
}

// nearModels returns up to [maxSuggestions] models of which a name, or its first
// words, is near what was written, with or without a year in it: nearest first,
// then by identifier of the spec. The specs are sorted by that.
func nearModels(model string, specs []*history) []string {
	written := []string{foldModel(model)}
	if rest, _, ok := cutYear(model); ok {
		written = append(written, foldModel(rest))
	}
	type candidate struct {
		spec     *history
		distance int
	}
	var candidates []candidate
	for _, s := range specs {
		least := -1
		for _, lead := range s.leads {
			for _, text := range written {
				if d, ok := near.Measure(text, lead); ok && (least < 0 || d < least) {
					least = d
				}
			}
		}
		if least >= 0 {
			candidates = append(candidates, candidate{s, least})
		}
	}
	slices.SortStableFunc(candidates, func(a, b candidate) int { return a.distance - b.distance })
	heads := make([]*Head, len(candidates))
	for i, c := range candidates {
		heads[i] = c.spec.newest()
	}
	return models(heads)
}

// models returns the names of the models, each once, at most [maxSuggestions].
func models(heads []*Head) []string {
	var names []string
	for _, h := range heads {
		if len(names) < maxSuggestions && !slices.Contains(names, h.Model) {
			names = append(names, h.Model)
		}
	}
	return names
}

// noSpec is the error for an identifier that no spec has.
func noSpec(specID string, ids []string) error {
	return &spec.NotFoundError{What: "spec " + strconv.Quote(specID), Suggestions: near.Names(specID, ids, maxSuggestions)}
}
