package sqlite

import (
	"strings"
	"time"
	"unicode/utf8"

	"github.com/snapgauge/snapgauge/service/store"
)

// where writes an expression as a condition on the table setups, named s. No
// column is ever NULL, so NOT means what it says.
type where struct {
	text strings.Builder
	args []any
}

// columns maps fields to columns; only what stands here gets into SQL as text.
var columns = map[store.Field]string{
	store.FieldShop:         "s.shop",
	store.FieldTechnician:   "s.technician",
	store.FieldVIN:          "s.vin",
	store.FieldModel:        "s.model",
	store.FieldModelYear:    "s.model_year",
	store.FieldMarket:       "s.market",
	store.FieldPhase:        "s.phase",
	store.FieldVerdict:      "s.verdict",
	store.FieldSpecRevision: "s.spec_revision",
	store.FieldCreateTime:   "s.create_time",
	store.FieldFinishTime:   "s.finish_time",
}

var operators = map[store.Op]string{
	store.Equal: " = ?", store.NotEqual: " <> ?",
	store.Less: " < ?", store.LessEqual: " <= ?", store.Greater: " > ?", store.GreaterEqual: " >= ?",
}

// expr writes e, which [store.CheckExpr] has accepted.
func (w *where) expr(e store.Expr) {
	switch e := e.(type) {
	case store.And:
		w.list(e, " AND ", "1")
	case store.Or:
		w.list(e, " OR ", "0")
	case store.Not:
		w.text.WriteString("NOT (")
		w.expr(e.Expr)
		w.text.WriteByte(')')
	case store.Compare:
		w.compare(e)
	}
}

func (w *where) list(parts []store.Expr, between, empty string) {
	if len(parts) == 0 {
		w.text.WriteString(empty)
		return
	}
	w.text.WriteByte('(')
	for i, part := range parts {
		if i > 0 {
			w.text.WriteString(between)
		}
		w.expr(part)
	}
	w.text.WriteByte(')')
}

func (w *where) compare(c store.Compare) {
	column := columns[c.Field]
	value := c.Value
	if t, ok := value.(time.Time); ok {
		value = t.UnixMicro()
	}
	if c.Op != store.HasPrefix {
		w.text.WriteString(column + operators[c.Op])
		w.args = append(w.args, value)
		return
	}
	// A range, unlike LIKE or GLOB, needs no escaping and can use an index.
	prefix := value.(string)
	w.text.WriteString("(" + column + " >= ?")
	w.args = append(w.args, prefix)
	if end, ok := afterPrefix(prefix); ok {
		w.text.WriteString(" AND " + column + " < ?")
		w.args = append(w.args, end)
	}
	w.text.WriteByte(')')
}

// afterPrefix returns the least text above all those that begin with prefix, by
// bytes. ok is false when there is none.
func afterPrefix(prefix string) (end string, ok bool) {
	for len(prefix) > 0 {
		r, size := utf8.DecodeLastRuneInString(prefix)
		prefix = prefix[:len(prefix)-size]
		switch {
		case r == utf8.MaxRune:
			continue
		case r == 0xD7FF:
			r = 0xE000 // the surrogates between are no text
		default:
			r++
		}
		return prefix + string(r), true
	}
	return "", false
}
