package store

import (
	"crypto/sha256"
	"strconv"
	"strings"
	"time"
)

// Canonical writes e as one line, so that two expressions have the same text
// exactly when they have the same form. Times count in whole microseconds, as
// they are compared. The text of nil is "". The form is frozen: page tokens
// depend on it.
func Canonical(e Expr) string {
	var b strings.Builder
	canonical(&b, e)
	return b.String()
}

func canonical(b *strings.Builder, e Expr) {
	list := func(name string, parts []Expr) {
		b.WriteString("(" + name)
		for _, part := range parts {
			b.WriteByte(' ')
			canonical(b, part)
		}
		b.WriteByte(')')
	}
	switch e := e.(type) {
	case And:
		list("and", e)
	case Or:
		list("or", e)
	case Not:
		list("not", []Expr{e.Expr})
	case Compare:
		b.WriteString("(" + string(e.Field) + " " + e.Op.String() + " ")
		switch v := e.Value.(type) {
		case string:
			b.WriteString(strconv.QuoteToASCII(v))
		case int64:
			b.WriteString(strconv.FormatInt(v, 10))
		case time.Time:
			b.WriteString("t" + strconv.FormatInt(v.UnixMicro(), 10))
		}
		b.WriteByte(')')
	}
}

const filterHashSize = 16

// filterHash tells filters apart. It is no secret and proves nothing.
func filterHash(e Expr) [filterHashSize]byte {
	sum := sha256.Sum256([]byte("snapgauge filter 1\n" + Canonical(e)))
	return [filterHashSize]byte(sum[:])
}
