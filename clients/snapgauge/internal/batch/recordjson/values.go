package recordjson

import (
	"github.com/snapgauge/snapgauge/service/phrase"

	"math"
	"strconv"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/snapgauge/snapgauge/service/near"
	"github.com/snapgauge/snapgauge/service/spelling"
)

// once notes that a field was seen, by its number.
func (d *decoder) once(seen *uint32, number uint) bool {
	if *seen&(1<<number) != 0 {
		return d.fail(d.at, "is given twice")
	}
	*seen |= 1 << number
	return true
}

func (d *decoder) string(to *string) bool {
	if d.null() {
		return true
	}
	if d.peek() != '"' {
		return d.unwanted("text")
	}
	s, ok := d.quoted()
	*to = s
	return ok
}

func (d *decoder) bool(to *bool) bool {
	switch {
	case d.word("true"):
		*to = true
	case d.word("false"):
		*to = false
	default:
		return d.unwanted("true or false")
	}
	return true
}

// number reads a number that may stand in quotes.
func (d *decoder) number(want string) (literal string, ok bool) {
	start := d.at
	if d.peek() != '"' {
		literal = d.text[d.at : d.at+numeral(d.text[d.at:])]
		if literal == "" {
			return "", d.unwanted(want)
		}
		d.at += len(literal)
		return literal, true
	}
	literal, ok = d.quoted()
	if ok && (literal == "" || numeral(literal) != len(literal)) {
		d.at = start
		return "", d.unwanted(want)
	}
	return literal, ok
}

func (d *decoder) double(to *float64) bool {
	start := d.at
	literal, ok := d.number("a number")
	if !ok {
		return false
	}
	x, err := strconv.ParseFloat(literal, 64)
	if err != nil {
		return d.fail(start, "got %s, which is too large", phrase.Clip(literal))
	}
	*to = x
	return true
}

func (d *decoder) optionalDouble(to **float64) bool {
	if d.null() {
		return true
	}
	*to = new(float64)
	return d.double(*to)
}

func (d *decoder) optionalBool(to **bool) bool {
	if d.null() {
		return true
	}
	*to = new(bool)
	return d.bool(*to)
}

func (d *decoder) int32(to *int32) bool {
	start := d.at
	literal, ok := d.number("a whole number")
	if !ok {
		return false
	}
	x, err := strconv.ParseFloat(literal, 64)
	switch {
	case err != nil || math.Abs(x) > math.MaxInt32:
		return d.fail(start, "got %s, which is too large", phrase.Clip(literal))
	case x != math.Trunc(x):
		return d.fail(start, "got %s, want a whole number", phrase.Clip(literal))
	}
	*to = int32(x)
	return true
}

// enum reads a value of an enum: by its name, by its name without the prefix of
// its type in any case and with hyphens or blanks, or by its number.
func enum[E ~int32](d *decoder, names *spelling.Names, to *E) bool {
	if d.null() {
		return true
	}
	start := d.at
	if d.peek() != '"' {
		var number int32
		if numeral(d.text[d.at:]) == 0 {
			return d.unwanted("one of " + names.Some())
		}
		ok := d.int32(&number)
		*to = E(number)
		return ok
	}
	s, ok := d.quoted()
	if !ok {
		return false
	}
	number, ok := names.Number(s)
	if !ok {
		return d.fail(start, "got %q%s", phrase.Clip(s), names.Advice(s))
	}
	*to = E(number)
	return true
}

// unknown tells which field may be meant by a name.
func (d *decoder) unknown(name string, m protoreflect.MessageDescriptor) bool {
	names := make([]string, m.Fields().Len())
	for i := range names {
		names[i] = string(m.Fields().Get(i).Name())
	}
	if meant := near.Name(name, names); meant != "" {
		return d.fail(d.at, "there is no such field; did you mean %s?", meant)
	}
	return d.fail(d.at, "there is no such field; want one of %s", strings.Join(names, ", "))
}
