package store

import (
	"cmp"
	"strings"
	"time"
)

// Match says whether s satisfies e, which [CheckExpr] must accept. It is the
// meaning of filters: stores translate them and must agree with it.
func Match(e Expr, s Setup) bool {
	switch e := e.(type) {
	case nil:
		return true
	case And:
		for _, part := range e {
			if !Match(part, s) {
				return false
			}
		}
		return true
	case Or:
		for _, part := range e {
			if Match(part, s) {
				return true
			}
		}
		return false
	case Not:
		return !Match(e.Expr, s)
	case Compare:
		return e.match(s)
	}
	return false
}

func (c Compare) match(s Setup) bool {
	info := fields[c.Field]
	switch v := c.Value.(type) {
	case string:
		if c.Op == HasPrefix {
			return strings.HasPrefix(info.text(s), v)
		}
		return c.Op.holds(strings.Compare(info.text(s), v))
	case int64:
		return c.Op.holds(cmp.Compare(info.int(s), v))
	case time.Time:
		return c.Op.holds(cmp.Compare(info.time(s).UnixMicro(), v.UnixMicro()))
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
