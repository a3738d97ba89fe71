// Package where writes filters as SQL conditions on the table setups, named s.
// All stores that speak SQL share it: they differ in a [Dialect] and in nothing
// else.
package where

import (
	"strings"
	"time"
	"unicode/utf8"

	"github.com/snapgauge/snapgauge/service/store"
)

// Dialect is how a database writes what differs.
type Dialect struct {
	// Placeholder writes the parameter with that number, from 1.
	Placeholder func(n int) string
	// Text turns a text into what the database keeps for it. It must keep
	// apart what is different, and prefixes prefixes. Nil keeps texts as they
	// are.
	Text func(string) string
	// Spec is the text of an index's expression: spec_revision up to and with
	// the first "/revisions/".
	Spec string
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
	store.Equal: " = ", store.NotEqual: " <> ",
	store.Less: " < ", store.LessEqual: " <= ", store.Greater: " > ", store.GreaterEqual: " >= ",
}

// Page is what stands behind SELECT ... FROM for one page of setups and one
// setup more, with the values to bind. Every value of the caller's is bound. q
// must pass its Check.
func (d Dialect) Page(q store.Query) (text string, args []any) {
	w := writer{Dialect: d}
	before := "\nWHERE "
	if q.Filter != nil {
		w.text.WriteString(before)
		w.expr(q.Filter)
		before = " AND "
	}
	if !q.After.IsZero() {
		micros, id := q.After.Position()
		w.text.WriteString(before + "(s.create_time, s.id) < (")
		w.bind(micros)
		w.text.WriteString(", ")
		w.bind(id)
		w.text.WriteByte(')')
	}
	w.text.WriteString("\nORDER BY s.create_time DESC, s.id DESC LIMIT ")
	w.bind(q.PageSize() + 1)
	return w.text.String(), w.args
}

// writer writes an expression. No column is ever NULL, so NOT means what it
// says.
type writer struct {
	Dialect
	text strings.Builder
	args []any
}

func (w *writer) bind(value any) {
	if text, ok := value.(string); ok && w.Text != nil {
		value = w.Text(text)
	}
	w.args = append(w.args, value)
	w.text.WriteString(w.Placeholder(len(w.args)))
}

// expr writes e, which [store.CheckExpr] has accepted.
func (w *writer) expr(e store.Expr) {
	switch e := e.(type) {
	case store.And:
		w.list(e, " AND ", "TRUE")
	case store.Or:
		w.list(e, " OR ", "FALSE")
	case store.Not:
		w.text.WriteString("NOT (")
		w.expr(e.Expr)
		w.text.WriteByte(')')
	case store.Compare:
		w.compare(e)
	}
}

func (w *writer) list(parts []store.Expr, between, empty string) {
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

func (w *writer) compare(c store.Compare) {
	value := c.Value
	if t, ok := value.(time.Time); ok {
		value = t.UnixMicro()
	}
	if c.Op == store.HasPrefix {
		w.prefix(c.Field, value.(string))
		return
	}
	w.text.WriteString(columns[c.Field] + operators[c.Op])
	w.bind(value)
}

func (w *writer) prefix(field store.Field, prefix string) {
	// All revisions of one spec, the question after every change of it, are one
	// value of an index that has them in the order of lists.
	if field == store.FieldSpecRevision && isSpec(prefix) {
		w.text.WriteString(w.Spec + " = ")
		w.bind(prefix)
		return
	}
	// A range, unlike LIKE or GLOB, needs no escaping and can use an index.
	w.text.WriteString("(" + columns[field] + " >= ")
	w.bind(prefix)
	if end, ok := afterPrefix(prefix); ok {
		w.text.WriteString(" AND " + columns[field] + " < ")
		w.bind(end)
	}
	w.text.WriteByte(')')
}

// isSpec says whether to begin with prefix is the same as to have it as the text
// up to and with the first "/revisions/".
func isSpec(prefix string) bool {
	const end = "/revisions/"
	return strings.Index(prefix, end) == len(prefix)-len(end) && len(prefix) > len(end)
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
