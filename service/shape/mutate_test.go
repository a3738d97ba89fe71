package shape_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"sync"
	"unicode/utf8"

	"google.golang.org/protobuf/reflect/protoreflect"
)

// spot is a place in a message where a value can be put: a field of a message
// that is there, or an item of one of its lists.
type spot struct {
	in    protoreflect.Message
	field protoreflect.FieldDescriptor
	item  int // -1 for the whole field
}

// spotsOf lists the spots of a message and of all in it. A copy of the message
// has the same spots at the same places.
func spotsOf(m protoreflect.Message) []spot {
	var spots []spot
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		field := fields.Get(i)
		spots = append(spots, spot{m, field, -1})
		switch {
		case field.IsList():
			list := m.Get(field).List()
			for n := range list.Len() {
				if field.Message() != nil {
					spots = append(spots, spotsOf(list.Get(n).Message())...)
				} else {
					spots = append(spots, spot{m, field, n})
				}
			}
		case field.Message() != nil && m.Has(field):
			spots = append(spots, spotsOf(m.Get(field).Message())...)
		}
	}
	return spots
}

// change is something done at a spot.
type change struct {
	what string
	do   func(spot)
}

func put(v protoreflect.Value, what string) change {
	return change{what, func(s spot) {
		if s.item >= 0 {
			s.in.Mutable(s.field).List().Set(s.item, v)
			return
		}
		s.in.Set(s.field, v)
	}}
}

// changesAt lists every change worth trying at a spot.
func changesAt(s spot) []change {
	key := kindOfSpot{s.field, s.item >= 0}
	if found, ok := changesOf.Load(key); ok {
		return found.([]change)
	}
	changes := makeChanges(s)
	changesOf.Store(key, changes)
	return changes
}

type kindOfSpot struct {
	field protoreflect.FieldDescriptor
	item  bool
}

var changesOf sync.Map // from kindOfSpot to []change

func makeChanges(s spot) []change {
	if s.field.IsList() && s.item < 0 {
		return listChanges(s.field)
	}
	changes := scalarChanges(s.field)
	if s.item < 0 {
		changes = append(changes, change{"cleared", func(s spot) { s.in.Clear(s.field) }})
		if s.field.Message() != nil {
			changes = append(changes, change{"empty message", func(s spot) { s.in.Set(s.field, s.in.NewField(s.field)) }})
		}
	}
	return changes
}

func scalarChanges(field protoreflect.FieldDescriptor) []change {
	var changes []change
	switch field.Kind() {
	case protoreflect.StringKind:
		for _, text := range texts {
			changes = append(changes, put(protoreflect.ValueOfString(text), fmt.Sprintf("%.80q", text)))
		}
	case protoreflect.DoubleKind:
		for _, x := range []float64{
			0, math.Copysign(0, -1), 1, -1, 0.1, 5, 60, 99.9, 100, math.Nextafter(100, 101), 100.5, 1e300, -1e300, math.MaxFloat64, -math.MaxFloat64,
			math.SmallestNonzeroFloat64, -math.SmallestNonzeroFloat64, math.Inf(1), math.Inf(-1), math.NaN(),
		} {
			changes = append(changes, put(protoreflect.ValueOfFloat64(x), fmt.Sprint(x)))
		}
	case protoreflect.Int32Kind:
		for _, n := range []int32{0, 1, -1, 1979, 1980, 1981, 2026, 2099, 2100, 2101, 999999999, 1000000000, math.MaxInt32, math.MinInt32} {
			changes = append(changes, put(protoreflect.ValueOfInt32(n), fmt.Sprint(n)))
		}
	case protoreflect.Int64Kind:
		for _, n := range []int64{0, -1, -62135596801, -62135596800, 253402300799, 253402300800, math.MaxInt64, math.MinInt64} {
			changes = append(changes, put(protoreflect.ValueOfInt64(n), fmt.Sprint(n)))
		}
	case protoreflect.BoolKind:
		changes = append(changes, put(protoreflect.ValueOfBool(true), "true"), put(protoreflect.ValueOfBool(false), "false"))
	case protoreflect.EnumKind:
		for _, n := range enumNumbers(field.Enum()) {
			changes = append(changes, put(protoreflect.ValueOfEnum(n), fmt.Sprint(n)))
		}
	}
	return changes
}

// enumNumbers are all that are defined, their neighbours, and some far away.
func enumNumbers(enum protoreflect.EnumDescriptor) []protoreflect.EnumNumber {
	numbers := []protoreflect.EnumNumber{-1, -64, 63, 64, 1023, 1024, 1025, 1 << 16, math.MaxInt32, math.MinInt32}
	for i := range enum.Values().Len() {
		n := enum.Values().Get(i).Number()
		numbers = append(numbers, n, n+1, n+1024, n-1024)
	}
	return numbers
}

// listChanges makes lists of lengths about the limits, of different items and of
// items twice, and lists of one item of every value.
func listChanges(field protoreflect.FieldDescriptor) []change {
	changes := []change{{"cleared", func(s spot) { s.in.Clear(s.field) }}}
	for _, n := range []int{1, 2, 15, 16, 17, 63, 64, 65, 1024, 1025} {
		changes = append(changes, change{fmt.Sprintf("%d items", n), func(s spot) {
			list := s.in.NewField(s.field).List()
			for i := range n {
				list.Append(itemOf(s, list, i))
			}
			s.in.Set(s.field, protoreflect.ValueOfList(list))
		}})
	}
	if field.Message() != nil {
		return append(changes, change{"empty message added", func(s spot) {
			list := s.in.Mutable(s.field).List()
			list.Append(list.NewElement())
		}})
	}
	changes = append(changes,
		change{"all of it twice", func(s spot) {
			list := s.in.Mutable(s.field).List()
			for i := range list.Len() {
				list.Append(list.Get(i))
			}
		}},
		change{"the first and last the same, of 64", func(s spot) {
			list := s.in.NewField(s.field).List()
			for i := range 64 {
				list.Append(itemOf(s, list, i%63))
			}
			s.in.Set(s.field, protoreflect.ValueOfList(list))
		}})
	for _, c := range scalarChanges(field) {
		changes = append(changes, change{"added: " + c.what, func(s spot) {
			list := s.in.Mutable(s.field).List()
			list.Append(list.NewElement())
			s.item = list.Len() - 1
			c.do(s)
		}})
	}
	return changes
}

// itemOf is a good item, another for each i as far as there are so many.
func itemOf(s spot, list protoreflect.List, i int) protoreflect.Value {
	switch {
	case s.field.Message() != nil:
		item := list.NewElement()
		item.Message().Set(item.Message().Descriptor().Fields().Get(0), protoreflect.ValueOfString(fmt.Sprintf("a%d", i)))
		return item
	case s.field.Enum() != nil:
		values := s.field.Enum().Values()
		return protoreflect.ValueOfEnum(values.Get(1 + i%(values.Len()-1)).Number())
	}
	return protoreflect.ValueOfString(fmt.Sprintf("option_%d", i))
}

// texts are about the edges of every pattern and length, and of Unicode.
var texts = func() []string {
	texts := []string{
		"", " ", "  ", "a", "z", "A", "Z", "0", "9", "-", "_", "/", ":", "@", "[", "`", "{", "é", "ü", "ß", "日本", "🏍", "🏍️", "e\u0301",
		"aa", "a-", "-a", "a_", "_a", "a0", "0a", "aA", "a b", " a", "a ", "a.b", "AB", "Ab", "ABC", "A1", "ÀB", "a-b", "a_b", "a\n", "\na", "AB\n", "\n",
		"a\tb", "a\x00", "\x00", "\x1f", "\x7f", "a\x7f", "\u0080", "\u009f", "\u00a0", "a\u00a0", "\u00ad", "a\u00ad", "\u2003", "\u2028", "\u2029", "a\u2028",
		"\u200b", "a\u200d", "\ufeff", "\ue000", "\U000f0000", "\U0010ffff", "\u0378", "a\u0378", "\ufffd", "\ufffe", "\U0001fae9", "\U0001fbff", "\u0e31", "\u061c", "\u202e",
		"\xff", "a\xff", "\xc3", "\xe2\x80", "\xed\xa0\x80", "\xf4\x90\x80\x80", "é\xff",
		"setups/", "setups/a", "setups/A", "setups/-", "setups/a_b", "setups/a/b", "setup/a", "/setups/a", "Setups/a", "setups/a\n", "setups/é",
		"2f1a9c3e-0000-4000-8000-00000000000a", "2F1A9C3E-0000-4000-8000-00000000000A", "2f1a9c3e00004000800000000000000a",
		"2f1a9c3e-0000-4000-8000-00000000000g", "{2f1a9c3e-0000-4000-8000-00000000000}", "2f1a9c3e-0000-4000-8000-0000000000-a",
		"2f1a9c3e-0000-4000-8000-00000000000", "2f1a9c3e-0000-4000-8000-00000000000aa", "2f1a9c3e_0000-4000-8000-00000000000a",
		"00000000-0000-0000-0000-000000000000", "ffffffffé-000-4000-8000-00000000000a",
	}
	const id = "2f1a9c3e-0000-4000-8000-00000000000a"
	for i := range id {
		texts = append(texts, id[:i]+"g"+id[i+1:], id[:i]+"-"+id[i+1:])
	}
	for _, n := range []int{15, 16, 17, 31, 32, 33, 62, 63, 64, 65, 66, 127, 128, 129, 1023, 1024, 1025, 4095, 4096, 4097} {
		for _, c := range []string{"a", "A", "0", "-", " ", "é", "日", "🏍", "\xff"} {
			texts = append(texts, strings.Repeat(c, n))
		}
		texts = append(texts,
			"a"+strings.Repeat("-", n-1), "a"+strings.Repeat("_", n-1), "a"+strings.Repeat("-", n-2)+"a",
			"setups/"+strings.Repeat("a", n), strings.Repeat("a", n-1)+"é", strings.Repeat("a", n-1)+"\x01")
	}
	return texts
}()

// alphabet is what random texts are made of: mostly what patterns allow.
var alphabet = []rune("aabcxyz0189--__AZ  /.:éüßñŁ№–日\n\t\x00\x7f\u0085\u00a0\u00ad\u200b\u2028\u0301\u0378\ue000\ufffd🏍")

// anyText is a random text, or another a little changed.
func anyText(rng *rand.Rand, from string) string {
	rs := []rune(from)
	if rng.IntN(3) == 0 || !utf8.ValidString(from) {
		rs = rs[:0]
		for range rng.IntN(70) {
			rs = append(rs, alphabet[rng.IntN(9)])
		}
	}
	for range 1 + rng.IntN(2) {
		at, r := rng.IntN(len(rs)+1), alphabet[rng.IntN(len(alphabet))]
		if rng.IntN(8) == 0 {
			r = rng.Int32N(utf8.MaxRune + 1)
		}
		switch rest := append([]rune{}, rs[at:]...); {
		case rng.IntN(3) > 0 || len(rest) == 0:
			rs = append(append(rs[:at], r), rest...)
		case rng.IntN(2) == 0:
			rs = append(rs[:at], rest[1:]...)
		default:
			rs[at] = r
		}
	}
	return string(rs)
}

// anyChange does something at some spot of a message, and says what.
func anyChange(rng *rand.Rand, m protoreflect.Message) string {
	spots := spotsOf(m)
	s := spots[rng.IntN(len(spots))]
	var c change
	if s.field.Kind() == protoreflect.StringKind && (!s.field.IsList() || s.item >= 0) && rng.IntN(2) == 0 {
		from := s.in.Get(s.field)
		if s.item >= 0 {
			from = from.List().Get(s.item)
		}
		text := anyText(rng, from.String())
		c = put(protoreflect.ValueOfString(text), fmt.Sprintf("%.80q", text))
	} else {
		changes := changesAt(s)
		if len(changes) == 0 {
			return ""
		}
		c = changes[rng.IntN(len(changes))]
	}
	c.do(s)
	return fmt.Sprintf("%s: %s; ", s.field.FullName(), c.what)
}
