// Package spelling knows how the values of enums may be written: by their full
// name, or without the prefix of their type, in any case, with hyphens or blanks
// for underscores. Documents allow the same.
package spelling

import (
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/snapgauge/snapgauge/service/near"
)

// Names are the spellings of the values of one enum. They are immutable and safe
// for concurrent use.
type Names struct {
	numbers map[string]int32
	full    map[int32]string
	short   []string
	some    string
}

// Of collects the names of an enum.
func Of(e protoreflect.EnumDescriptor) *Names {
	n := &Names{numbers: make(map[string]int32), full: make(map[int32]string)}
	values := e.Values()
	// By the style of the contract, value nought is {PREFIX}_UNSPECIFIED.
	prefix := strings.TrimSuffix(string(values.Get(0).Name()), "UNSPECIFIED")
	for i := range values.Len() {
		v := values.Get(i)
		short := strings.TrimPrefix(string(v.Name()), prefix)
		for _, name := range []string{string(v.Name()), short, strings.ToLower(short)} {
			n.numbers[name] = int32(v.Number())
		}
		n.full[int32(v.Number())] = short
		if i > 0 {
			n.short = append(n.short, short)
		}
	}
	some := n.short
	if len(some) > 12 {
		some = append(some[:12:12], "…")
	}
	n.some = strings.Join(some, ", ")
	return n
}

// Number reads a name.
func (n *Names) Number(name string) (int32, bool) {
	number, ok := n.numbers[name] // the usual spellings, without work
	if !ok {
		number, ok = n.numbers[normal(name)]
	}
	return number, ok
}

// Short is the name of a value without the prefix of its type; empty for a number
// that has none, and for the value nought, which says nothing.
func (n *Names) Short(number int32) string {
	if number == 0 {
		return ""
	}
	return n.full[number]
}

// Some lists names for a message: all of them where they are not many.
func (n *Names) Some() string { return n.some }

// Advice says after a name that there is not what was wanted instead.
func (n *Names) Advice(name string) string {
	if meant := near.Name(normal(name), n.short); meant != "" {
		return "; did you mean " + meant + "?"
	}
	return ", want one of " + n.some
}

func normal(name string) string {
	return strings.NewReplacer("-", "_", " ", "_").Replace(strings.ToUpper(name))
}
