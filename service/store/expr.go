package store

import (
	"fmt"
	"time"
	"unicode/utf8"
)

// Expr is a condition on what a list has: [And], [Or], [Not] or [Compare], or nil
// where none is asked for. Expressions are read-only once built.
type Expr interface{ isExpr() }

// And holds when all of its parts do. Without parts it holds.
type And []Expr

// Or holds when one of its parts does. Without parts it does not hold.
type Or []Expr

// Not holds when Expr does not.
type Not struct{ Expr Expr }

// Compare holds when the field's value stands in that relation to Value.
type Compare struct {
	Field Field
	Op    Op
	Value any // string, int64 or time.Time, as the field's Kind says
}

func (And) isExpr()     {}
func (Or) isExpr()      {}
func (Not) isExpr()     {}
func (Compare) isExpr() {}

// Op is a relation.
type Op int

// The relations. Texts and enums know only Equal, NotEqual and, texts alone,
// HasPrefix; ints and times know all but HasPrefix. Texts compare byte by byte.
const (
	Equal Op = iota + 1
	NotEqual
	Less
	LessEqual
	Greater
	GreaterEqual
	HasPrefix
)

var opNames = map[Op]string{
	Equal: "=", NotEqual: "!=", Less: "<", LessEqual: "<=", Greater: ">", GreaterEqual: ">=", HasPrefix: "has prefix",
}

// String is the relation as filters write it.
func (o Op) String() string {
	if name, ok := opNames[o]; ok {
		return name
	}
	return fmt.Sprintf("Op(%d)", int(o))
}

// Applies says whether values of that kind can stand in the relation.
func (o Op) Applies(k Kind) bool {
	switch o {
	case Equal, NotEqual:
		return k >= KindText && k <= KindTime
	case Less, LessEqual, Greater, GreaterEqual:
		return k == KindInt || k == KindTime
	case HasPrefix:
		return k == KindText
	}
	return false
}

// What CheckExpr lets through at most. Every database can take that much; what
// it costs to plan a query grows faster than the filter.
const (
	// MaxExprDepth is the greatest number of expressions inside one another.
	MaxExprDepth = 64
	// MaxExprSize is the greatest number of expressions in all.
	MaxExprSize = 200
)

// CheckExpr returns an error that wraps [ErrInvalidQuery] when e, on setups, has an
// unknown field or relation, a value of the wrong type, a nil inside, or is too
// deep or too large. Nil is allowed at the top alone.
func CheckExpr(e Expr) error { return SetupFields.Check(e) }

// Check is [CheckExpr] for what the table is of.
func (t Table[T]) Check(e Expr) error {
	if e == nil {
		return nil
	}
	size := 0
	return t.check(e, 1, &size)
}

func (t Table[T]) check(e Expr, depth int, size *int) error {
	if *size++; *size > MaxExprSize {
		return fmt.Errorf("%w: filter: wanted at most %d expressions", ErrInvalidQuery, MaxExprSize)
	}
	if depth > MaxExprDepth {
		return fmt.Errorf("%w: filter: wanted at most %d expressions inside one another", ErrInvalidQuery, MaxExprDepth)
	}
	parts := func(es []Expr) error {
		for _, part := range es {
			if err := t.check(part, depth+1, size); err != nil {
				return err
			}
		}
		return nil
	}
	switch e := e.(type) {
	case And:
		return parts(e)
	case Or:
		return parts(e)
	case Not:
		return t.check(e.Expr, depth+1, size)
	case Compare:
		return t.checkCompare(e)
	}
	return fmt.Errorf("%w: filter: got %T, wanted And, Or, Not or Compare", ErrInvalidQuery, e)
}

func (t Table[T]) checkCompare(c Compare) error {
	kind, ok := t.Kind(c.Field)
	if !ok {
		return fmt.Errorf("%w: filter: got field %s, wanted one of %v", ErrInvalidQuery, quote(string(c.Field)), t.Fields())
	}
	if !c.Op.Applies(kind) {
		return fmt.Errorf("%w: filter: field %s: %q does not apply to it", ErrInvalidQuery, c.Field, c.Op)
	}
	wanted := ""
	switch v := c.Value.(type) {
	case string:
		if (kind == KindText || kind == KindEnum) && utf8.ValidString(v) {
			return nil
		}
	case int64:
		if kind == KindInt {
			return nil
		}
	case time.Time:
		if kind == KindTime && v.Year() >= 1 && v.Year() <= 9999 {
			return nil
		}
	}
	switch kind {
	case KindText, KindEnum:
		wanted = "a string of valid UTF-8"
	case KindInt:
		wanted = "an int64"
	case KindTime:
		wanted = "a time.Time from year 1 to year 9999"
	}
	return fmt.Errorf("%w: filter: field %s: got %T, wanted %s", ErrInvalidQuery, c.Field, c.Value, wanted)
}
