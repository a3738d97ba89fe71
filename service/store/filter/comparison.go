package filter

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"go.einride.tech/aip/filtering"
	expr "google.golang.org/genproto/googleapis/api/expr/v1alpha1"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/vin"
)

// comparison translates a field, a relation and a value.
func (t *translator) comparison(left *expr.Expr, op store.Op, right *expr.Expr) (store.Expr, error) {
	field := store.Field(left.GetIdentExpr().GetName())
	kind, ok := t.Fields.Kind(field)
	if !ok {
		return nil, t.fault(left, "", "field "+describe(left), "one of "+join(t.Fields.Fields()))
	}
	if !op.Applies(kind) {
		return nil, t.fault(left, string(field), "the operator "+op.String(), "= or !=")
	}
	switch kind {
	case store.KindText:
		return t.textual(field, op, right)
	case store.KindEnum:
		value, ok := word(right)
		value = strings.ToUpper(value) // as record files take them, in any case
		if names := field.Values(); !ok || !slices.Contains(names, value) {
			return nil, t.fault(right, string(field), describe(right), "one of "+join(names))
		}
		return store.Compare{Field: field, Op: op, Value: value}, nil
	case store.KindInt:
		number, ok := right.GetConstExpr().GetConstantKind().(*expr.Constant_Int64Value)
		if !ok {
			return nil, t.fault(right, string(field), describe(right), "a whole number without quotes")
		}
		return store.Compare{Field: field, Op: op, Value: number.Int64Value}, nil
	default:
		return t.temporal(field, op, right)
	}
}

func (t *translator) textual(field store.Field, op store.Op, right *expr.Expr) (store.Expr, error) {
	value, ok := word(right)
	if !ok || !utf8.ValidString(value) {
		return nil, t.fault(right, string(field), describe(right), "a text in quotes")
	}
	if field == store.FieldVIN {
		value = vin.Plain(value) // as it is stored, however it is written
	}
	prefix, wild := strings.CutSuffix(value, "*")
	if strings.Contains(prefix, "*") || wild && prefix == "" {
		return nil, t.fault(right, string(field), describe(right), "at most one asterisk, at the end of a text")
	}
	switch {
	case !wild:
		return store.Compare{Field: field, Op: op, Value: value}, nil
	case op == store.NotEqual:
		return store.Not{Expr: store.Compare{Field: field, Op: store.HasPrefix, Value: prefix}}, nil
	}
	return store.Compare{Field: field, Op: store.HasPrefix, Value: prefix}, nil
}

func (t *translator) temporal(field store.Field, op store.Op, right *expr.Expr) (store.Expr, error) {
	literal := right
	if call := right.GetCallExpr(); call.GetFunction() == filtering.FunctionTimestamp && len(call.GetArgs()) == 1 {
		literal = call.GetArgs()[0]
	}
	text, ok := literal.GetConstExpr().GetConstantKind().(*expr.Constant_StringValue)
	if ok {
		value, err := time.Parse(time.RFC3339, text.StringValue)
		value = value.UTC()
		if err == nil && value.Year() >= 1 && value.Year() <= 9999 {
			return store.Compare{Field: field, Op: op, Value: value.Truncate(time.Microsecond)}, nil
		}
	}
	return nil, t.fault(right, string(field), describe(right), `a time in quotes, such as "2026-11-30T08:00:00Z"`)
}

// word returns the text of a value in quotes or of a single word without.
func word(e *expr.Expr) (string, bool) {
	if ident := e.GetIdentExpr(); ident != nil {
		return ident.GetName(), true
	}
	text, ok := e.GetConstExpr().GetConstantKind().(*expr.Constant_StringValue)
	if !ok {
		return "", false
	}
	return text.StringValue, true
}

// describe says in a few words what an expression is.
func describe(e *expr.Expr) string {
	switch kind := e.GetExprKind().(type) {
	case *expr.Expr_IdentExpr:
		return quote(kind.IdentExpr.GetName())
	case *expr.Expr_SelectExpr:
		return quote(path(e))
	case *expr.Expr_ConstExpr:
		switch c := kind.ConstExpr.GetConstantKind().(type) {
		case *expr.Constant_StringValue:
			return "text " + quote(c.StringValue)
		case *expr.Constant_Int64Value:
			return fmt.Sprintf("number %d", c.Int64Value)
		case *expr.Constant_DoubleValue:
			return fmt.Sprintf("number %g", c.DoubleValue)
		}
	case *expr.Expr_CallExpr:
		if name := kind.CallExpr.GetFunction(); name != "" && unicode.IsLetter([]rune(name)[0]) {
			return "function or word " + quote(name)
		}
		return "a condition"
	}
	return "something else"
}

// path writes a.b.c.
func path(e *expr.Expr) string {
	if s := e.GetSelectExpr(); s != nil {
		return path(s.GetOperand()) + "." + s.GetField()
	}
	return e.GetIdentExpr().GetName()
}

func join[T ~string](names []T) string {
	texts := make([]string, len(names))
	for i, name := range names {
		texts[i] = string(name)
	}
	return strings.Join(texts, ", ")
}
