// Package spelling knows how the values of enums may be written: by their full
// name, or without the prefix of their type, in any case, with hyphens or blanks
// for underscores. Documents and tables of records allow the same.
package spelling

import (
	"strings"
	"sync"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/snapgauge/snapgauge/service/near"
)

// Names are the spellings of the values of one enum. They are immutable and safe
// for concurrent use.
type Names struct {
	numbers map[string]int32
	bare    map[int32]string // without the prefix
	prefix  string
	short   []string
	some    string
}

var known sync.Map // of protoreflect.FullName to *Names

// Of gives the names of an enum. They are shared.
func Of(e protoreflect.EnumDescriptor) *Names {
	if n, ok := known.Load(e.FullName()); ok {
		return n.(*Names)
	}
	n, _ := known.LoadOrStore(e.FullName(), collect(e))
	return n.(*Names)
}

func collect(e protoreflect.EnumDescriptor) *Names {
	n := &Names{numbers: make(map[string]int32), bare: make(map[int32]string)}
	values := e.Values()
	// By the style of the contract, value nought is {PREFIX}_UNSPECIFIED.
	n.prefix = strings.TrimSuffix(string(values.Get(0).Name()), "UNSPECIFIED")
	for i := range values.Len() {
		v := values.Get(i)
		short := strings.TrimPrefix(string(v.Name()), n.prefix)
		for _, name := range []string{string(v.Name()), short, strings.ToLower(short)} {
			n.numbers[name] = int32(v.Number())
		}
		n.bare[int32(v.Number())] = short
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
	return n.bare[number]
}

// Bare is [Names.Short], and "UNSPECIFIED" for the value nought.
func (n *Names) Bare(number int32) string { return n.bare[number] }

// All lists the names, in the order of the values and without UNSPECIFIED.
func (n *Names) All() string { return strings.Join(n.short, ", ") }

// Some lists names for a message: all of them where they are not many.
func (n *Names) Some() string { return n.some }

// Advice says after a name that there is not what was wanted instead.
func (n *Names) Advice(name string) string {
	if meant := near.Name(strings.TrimPrefix(normal(name), n.prefix), n.short); meant != "" {
		return "; did you mean " + meant + "?"
	}
	return ", want one of " + n.some
}

func normal(name string) string {
	return strings.NewReplacer("-", "_", " ", "_").Replace(strings.ToUpper(name))
}
