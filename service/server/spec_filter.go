package server

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"go.einride.tech/aip/filtering"
	expr "google.golang.org/genproto/googleapis/api/expr/v1alpha1"

	"github.com/snapgauge/snapgauge/service/catalogue"
)

// specFilter chooses specs, by their newest revisions.
type specFilter func(*catalogue.Head) bool

// maxFilterDepth is the greatest number of parentheses inside one another. The
// parser recurses, and tries some of them more than once.
const maxFilterDepth = 16

// The fields that specs can be filtered by.
var (
	specTexts = map[string]func(*catalogue.Head) string{
		"make":   func(h *catalogue.Head) string { return h.Make },
		"model":  func(h *catalogue.Head) string { return h.Model },
		"market": func(h *catalogue.Head) string { return h.Market },
	}
	specNumbers = map[string]func(*catalogue.Head) int64{
		"model_year": func(h *catalogue.Head) int64 { return int64(h.ModelYear) },
	}
)

const specFields = "make, model, model_year, market"

// parseSpecFilter reads an AIP-160 filter in the dialect of package filter: texts
// know = and !=, with an asterisk at the end for any rest; the model year also
// < <= > and >=. The empty one chooses everything.
func parseSpecFilter(text string) (specFilter, error) {
	if strings.TrimSpace(text) == "" {
		return func(*catalogue.Head) bool { return true }, nil
	}
	if err := checkFilterDepth(text); err != nil {
		return nil, err
	}
	var parser filtering.Parser
	parser.Init(text)
	parsed, err := parser.Parse()
	if err != nil {
		// The innermost error says what; those around it, in which rule.
		for inner := errors.Unwrap(err); inner != nil; inner = errors.Unwrap(err) {
			err = inner
		}
		var at interface {
			Message() string
			Position() filtering.Position
		}
		if errors.As(err, &at) {
			return nil, fmt.Errorf("line %d, column %d: %s", at.Position().Line, at.Position().Column, at.Message())
		}
		return nil, err
	}
	return specCondition(parsed.GetExpr())
}

func checkFilterDepth(text string) error {
	var lexer filtering.Lexer
	lexer.Init(text)
	depth := 0
	for {
		token, err := lexer.Lex()
		if err != nil {
			return nil // the end, or a fault that the parser names
		}
		switch token.Type {
		case filtering.TokenTypeLeftParen:
			if depth++; depth > maxFilterDepth {
				return fmt.Errorf("got %d parentheses inside one another, wanted at most %d", depth, maxFilterDepth)
			}
		case filtering.TokenTypeRightParen:
			depth--
		}
	}
}

// specCondition translates what must be true or false.
func specCondition(e *expr.Expr) (specFilter, error) {
	call := e.GetCallExpr()
	args := call.GetArgs()
	switch function := call.GetFunction(); function {
	case filtering.FunctionAnd, filtering.FunctionFuzzyAnd, filtering.FunctionOr, filtering.FunctionNot:
		parts := make([]specFilter, len(args))
		for i, arg := range args {
			part, err := specCondition(arg)
			if err != nil {
				return nil, err
			}
			parts[i] = part
		}
		switch function {
		case filtering.FunctionNot:
			return func(h *catalogue.Head) bool { return !parts[0](h) }, nil
		case filtering.FunctionOr:
			return func(h *catalogue.Head) bool {
				return slices.ContainsFunc(parts, func(p specFilter) bool { return p(h) })
			}, nil
		}
		return func(h *catalogue.Head) bool {
			return !slices.ContainsFunc(parts, func(p specFilter) bool { return !p(h) })
		}, nil
	case filtering.FunctionEquals, filtering.FunctionNotEquals, filtering.FunctionLessThan,
		filtering.FunctionLessEquals, filtering.FunctionGreaterThan, filtering.FunctionGreaterEquals:
		return specComparison(function, args[0], args[1])
	}
	return nil, errors.New(`wanted conditions such as market = "EU", joined by AND, OR, NOT and parentheses`)
}

func specComparison(op string, left, right *expr.Expr) (specFilter, error) {
	field := left.GetIdentExpr().GetName()
	if get, ok := specTexts[field]; ok {
		return textComparison(field, get, op, right)
	}
	get, ok := specNumbers[field]
	if !ok {
		return nil, fmt.Errorf("got field %q, wanted one of %s", field, specFields)
	}
	constant, ok := right.GetConstExpr().GetConstantKind().(*expr.Constant_Int64Value)
	if !ok {
		return nil, fmt.Errorf("%s: wanted a whole number without quotes", field)
	}
	value := constant.Int64Value
	return func(h *catalogue.Head) bool { return holds(op, cmp.Compare(get(h), value)) }, nil
}

func textComparison(field string, get func(*catalogue.Head) string, op string, right *expr.Expr) (specFilter, error) {
	if op != filtering.FunctionEquals && op != filtering.FunctionNotEquals {
		return nil, fmt.Errorf("%s: got the operator %s, wanted = or !=", field, op)
	}
	value := right.GetIdentExpr().GetName() // a single word needs no quotes
	if constant, ok := right.GetConstExpr().GetConstantKind().(*expr.Constant_StringValue); ok {
		value = constant.StringValue
	} else if value == "" {
		return nil, fmt.Errorf("%s: wanted a text in quotes", field)
	}
	prefix, wild := strings.CutSuffix(value, "*")
	if strings.Contains(prefix, "*") || wild && prefix == "" {
		return nil, fmt.Errorf("%s: got %q, wanted at most one asterisk, at the end of a text", field, value)
	}
	wanted := op == filtering.FunctionEquals
	if wild {
		return func(h *catalogue.Head) bool { return strings.HasPrefix(get(h), prefix) == wanted }, nil
	}
	return func(h *catalogue.Head) bool { return (get(h) == value) == wanted }, nil
}

// holds says whether two values whose comparison gave sign are so related.
func holds(op string, sign int) bool {
	switch op {
	case filtering.FunctionEquals:
		return sign == 0
	case filtering.FunctionNotEquals:
		return sign != 0
	case filtering.FunctionLessThan:
		return sign < 0
	case filtering.FunctionLessEquals:
		return sign <= 0
	case filtering.FunctionGreaterThan:
		return sign > 0
	}
	return sign >= 0
}
