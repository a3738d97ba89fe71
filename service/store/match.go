package store

import (
	"cmp"
	"strings"
	"time"
)

// Match says whether s satisfies e, which [CheckExpr] must accept. It is the
// meaning of filters: stores translate them and must agree with it.
func Match(e Expr, s Setup) bool { return SetupFields.Match(e, s) }

// Match is [Match] for what the table is of; its Check must accept e.
func (t Table[T]) Match(e Expr, one T) bool {
	switch e := e.(type) {
	case nil:
		return true
	case And:
		for _, part := range e {
			if !t.Match(part, one) {
				return false
			}
		}
		return true
	case Or:
		for _, part := range e {
			if t.Match(part, one) {
				return true
			}
		}
		return false
	case Not:
		return !t.Match(e.Expr, one)
	case Compare:
		return t.compare(e, one)
	}
	return false
}

func (t Table[T]) compare(c Compare, one T) bool {
	column := t[c.Field]
	switch v := c.Value.(type) {
	case string:
		if c.Op == HasPrefix {
			return strings.HasPrefix(column.Text(one), v)
		}
		return c.Op.holds(strings.Compare(column.Text(one), v))
	case int64:
		return c.Op.holds(cmp.Compare(column.Int(one), v))
	case time.Time:
		return c.Op.holds(cmp.Compare(column.Time(one).UnixMicro(), v.UnixMicro()))
	}
	return false
}

// holds says whether two values whose comparison gave sign are so related.
func (o Op) holds(sign int) bool {
	switch o {
	case Equal:
		return sign == 0
	case NotEqual:
		return sign != 0
	case Less:
		return sign < 0
	case LessEqual:
		return sign <= 0
	case Greater:
		return sign > 0
	case GreaterEqual:
		return sign >= 0
	}
	return false
}
