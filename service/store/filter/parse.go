package filter

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"go.einride.tech/aip/filtering"
	expr "google.golang.org/genproto/googleapis/api/expr/v1alpha1"

	"github.com/snapgauge/snapgauge/service/store"
)

// What Parse lets through at most.
const (
	// MaxLength is the greatest length of a filter in bytes.
	MaxLength = 1024
	// MaxDepth is the greatest number of parentheses inside one another.
	MaxDepth = 16
	// MaxComparisons is the greatest number of comparisons.
	MaxComparisons = 64
)

// Fields are those that a filter may name, and the conditions that may be put on
// them, as [store.Table] has them. A name means the same in every list: by it a
// value is one of [store.Field.Values], or a VIN however it is written.
type Fields interface {
	Fields() []store.Field
	Kind(store.Field) (store.Kind, bool)
	Check(store.Expr) error
}

// Dialect is the language of the filters of one list.
type Dialect struct {
	Fields Fields
	// Example is a condition on one of the fields, to be shown to those who wrote
	// none.
	Example string
}

// Setups is the dialect of lists of set-ups.
var Setups = Dialect{Fields: store.SetupFields, Example: `shop = "ridge-cycles"`}

// Parse reads a filter. The empty one is nil, which chooses everything. What it
// returns satisfies the check of the fields. Every error is an *[Error].
func (d Dialect) Parse(text string) (store.Expr, error) {
	if len(text) > MaxLength {
		return nil, &Error{Got: fmt.Sprintf("%d bytes", len(text)), Wanted: fmt.Sprintf("at most %d", MaxLength)}
	}
	if !utf8.ValidString(text) {
		return nil, &Error{Got: "bytes that are no text", Wanted: "UTF-8"}
	}
	if strings.TrimSpace(text) == "" {
		return nil, nil
	}
	if err := checkDepth(text); err != nil {
		return nil, err
	}
	var parser filtering.Parser
	parser.Init(text)
	parsed, err := parser.Parse()
	if err != nil {
		return nil, d.syntaxError(text, err)
	}
	t := translator{Dialect: d, text: text, positions: parsed.GetSourceInfo().GetPositions()}
	e, err := t.condition(parsed.GetExpr())
	if err != nil {
		return nil, err
	}
	if err := d.Fields.Check(e); err != nil {
		return nil, &Error{Got: quote(text), Wanted: "a simpler one (" + err.Error() + ")"}
	}
	return e, nil
}

// checkDepth counts parentheses before the parser, which recurses, sees them.
func checkDepth(text string) error {
	var lexer filtering.Lexer
	lexer.Init(text)
	depth := 0
	for {
		token, err := lexer.Lex()
		if err != nil {
			return nil // the end, or a fault that the parser will name
		}
		switch token.Type {
		case filtering.TokenTypeLeftParen:
			if depth++; depth > MaxDepth {
				return &Error{
					Position: character(text, int(token.Position.Offset)),
					Got:      fmt.Sprintf("%d parentheses inside one another", depth),
					Wanted:   fmt.Sprintf("at most %d", MaxDepth),
				}
			}
		case filtering.TokenTypeRightParen:
			depth--
		}
	}
}

// syntaxError keeps the innermost of the parser's errors, which wraps one for
// each rule that it was in.
func (d Dialect) syntaxError(text string, err error) error {
	type located interface {
		Position() filtering.Position
		Message() string
	}
	result := &Error{Got: quote(text), Wanted: "conditions such as " + d.Example + ", joined by AND, OR, NOT and parentheses"}
	message := ""
	for ; err != nil; err = errors.Unwrap(err) {
		if l, ok := err.(located); ok {
			result.Position = character(text, offset(text, int(l.Position().Offset)))
			message = l.Message()
		}
	}
	if message != "" {
		result.Got += " (" + message + ")"
	}
	return result
}

// offset undoes the trimming of leading space that the parser does.
func offset(text string, trimmed int) int {
	return trimmed + len(text) - len(strings.TrimLeftFunc(text, unicode.IsSpace))
}

// character turns an offset in bytes into a number counted from 1.
func character(text string, offset int) int {
	return utf8.RuneCountInString(text[:min(max(offset, 0), len(text))]) + 1
}

func quote(s string) string {
	if utf8.RuneCountInString(s) > 60 {
		return fmt.Sprintf("%.60q...", s)
	}
	return fmt.Sprintf("%q", s)
}

// translator turns the parser's tree into ours.
type translator struct {
	Dialect
	text      string
	positions map[int64]int32
	compared  int // comparisons translated so far
}

func (t *translator) fault(at *expr.Expr, field, got, wanted string) error {
	return &Error{
		Position: character(t.text, offset(t.text, int(t.positions[at.GetId()]))),
		Field:    field, Got: got, Wanted: wanted,
	}
}

// condition translates what must be true or false.
func (t *translator) condition(e *expr.Expr) (store.Expr, error) {
	call := e.GetCallExpr()
	if call == nil {
		return nil, t.fault(e, "", describe(e), "a condition such as "+t.Example)
	}
	args := call.GetArgs()
	switch function := call.GetFunction(); function {
	case filtering.FunctionAnd, filtering.FunctionFuzzyAnd:
		parts, err := t.parts(args)
		if err != nil {
			return nil, err
		}
		var and store.And
		for _, part := range parts {
			if inner, ok := part.(store.And); ok {
				and = append(and, inner...)
			} else {
				and = append(and, part)
			}
		}
		return and, nil
	case filtering.FunctionOr:
		parts, err := t.parts(args)
		if err != nil {
			return nil, err
		}
		var or store.Or
		for _, part := range parts {
			if inner, ok := part.(store.Or); ok {
				or = append(or, inner...)
			} else {
				or = append(or, part)
			}
		}
		return or, nil
	case filtering.FunctionNot:
		parts, err := t.parts(args)
		if err != nil {
			return nil, err
		}
		if len(parts) != 1 {
			break
		}
		return store.Not{Expr: parts[0]}, nil
	default:
		if op, ok := ops[function]; ok && len(args) == 2 {
			if t.compared++; t.compared > MaxComparisons {
				return nil, t.fault(e, "", fmt.Sprintf("%d comparisons or more", t.compared),
					fmt.Sprintf("at most %d", MaxComparisons))
			}
			return t.comparison(args[0], op, args[1])
		}
		if function == filtering.FunctionHas {
			return nil, t.fault(e, "", `the operator ":"`, "= or !=")
		}
	}
	return nil, t.fault(e, "", describe(e), "a condition such as "+t.Example)
}

func (t *translator) parts(args []*expr.Expr) ([]store.Expr, error) {
	parts := make([]store.Expr, 0, len(args))
	for _, arg := range args {
		part, err := t.condition(arg)
		if err != nil {
			return nil, err
		}
		parts = append(parts, part)
	}
	return parts, nil
}

var ops = map[string]store.Op{
	filtering.FunctionEquals:        store.Equal,
	filtering.FunctionNotEquals:     store.NotEqual,
	filtering.FunctionLessThan:      store.Less,
	filtering.FunctionLessEquals:    store.LessEqual,
	filtering.FunctionGreaterThan:   store.Greater,
	filtering.FunctionGreaterEquals: store.GreaterEqual,
}
