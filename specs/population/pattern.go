package population

import (
	"fmt"
	"regexp/syntax"
)

// text is what an identifier may look like: at each place one of some characters.
type text [][]byte

// textOf reads the pattern of an identifier. It knows what sheets use: characters,
// classes of them, and how often.
func textOf(pattern string) (text, error) {
	parsed, err := syntax.Parse(pattern, syntax.Perl)
	if err != nil {
		return nil, err
	}
	var t text
	if err := t.add(parsed); err != nil {
		return nil, fmt.Errorf("pattern %s: %w", pattern, err)
	}
	return t, nil
}

func (t *text) add(r *syntax.Regexp) error {
	switch r.Op {
	case syntax.OpEmptyMatch, syntax.OpBeginText, syntax.OpEndText:
	case syntax.OpLiteral:
		for _, c := range r.Rune {
			*t = append(*t, []byte{byte(c)})
		}
	case syntax.OpCharClass:
		var class []byte
		for i := 0; i < len(r.Rune); i += 2 {
			for c := r.Rune[i]; c <= min(r.Rune[i+1], '~'); c++ {
				class = append(class, byte(c))
			}
		}
		if len(class) == 0 {
			return fmt.Errorf("no plain character in %s", r)
		}
		*t = append(*t, class)
	case syntax.OpConcat, syntax.OpCapture:
		for _, sub := range r.Sub {
			if err := t.add(sub); err != nil {
				return err
			}
		}
	case syntax.OpAlternate:
		return t.add(r.Sub[0])
	case syntax.OpRepeat:
		for range r.Min {
			if err := t.add(r.Sub[0]); err != nil {
				return err
			}
		}
	case syntax.OpPlus:
		return t.add(r.Sub[0])
	case syntax.OpStar, syntax.OpQuest:
	default:
		return fmt.Errorf("cannot make a text for %s", r)
	}
	return nil
}

// write makes a text, the same for the same number.
func (t text) write(number uint64) string {
	b := make([]byte, len(t))
	for i, class := range t {
		if len(class) == 1 {
			b[i] = class[0]
			continue
		}
		number = mix(number)
		b[i] = class[number%uint64(len(class))]
	}
	return string(b)
}
