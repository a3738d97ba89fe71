package columns

import (
	"strconv"
	"strings"
	"time"
)

// Cell is what stands in one cell of a table. In a text file that is text; other
// files know numbers and times.
type Cell struct {
	kind   cellKind
	local  bool // a time without an offset
	text   string
	number float64
	time   time.Time
}

type cellKind uint8

const (
	cellText cellKind = iota
	cellNumber
	cellTime
)

// Text is a cell with a text, as it is written. An empty one is no value, as is
// one of blanks only.
func Text(s string) Cell { return Cell{text: strings.TrimSpace(s)} }

// Number is a cell with a number.
func Number(x float64) Cell { return Cell{kind: cellNumber, number: x} }

// Truth is a cell with yes or no.
func Truth(yes bool) Cell { return Cell{text: strconv.FormatBool(yes)} }

// Instant is a cell with a time.
func Instant(t time.Time) Cell { return Cell{kind: cellTime, time: t} }

// LocalTime is a cell with what a clock showed, in whatever zone it was.
func LocalTime(t time.Time) Cell { return Cell{kind: cellTime, time: t, local: true} }

// String is the cell as text.
func (c Cell) String() string {
	switch c.kind {
	case cellNumber:
		return strconv.FormatFloat(c.number, 'f', -1, 64)
	case cellTime:
		if c.local {
			return c.time.Format("2006-01-02T15:04:05.999999999")
		}
		return c.time.Format(time.RFC3339Nano)
	}
	return c.text
}

func (c Cell) empty() bool { return c.kind == cellText && c.text == "" }

func (c Cell) equal(other Cell) bool {
	return c.kind == other.kind && c.text == other.text && c.number == other.number && c.time.Equal(other.time)
}
