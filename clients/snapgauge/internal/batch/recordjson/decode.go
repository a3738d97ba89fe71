package recordjson

import (
	"fmt"
	"unicode/utf8"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Error is the first thing wrong with a line.
type Error struct {
	// Column in the line, counted from 1, in characters.
	Column int
	// Field is the path of the field, such as readings[3].unit. Empty outside of
	// any field.
	Field string
	// Message says what was found and what was wanted.
	Message string
}

func (e *Error) Error() string {
	field := e.Field
	if field != "" {
		field += ": "
	}
	return fmt.Sprintf("column %d: %s%s", e.Column, field, e.Message)
}

// Decode reads a record. The error is an *[Error]. The texts of the record are
// parts of the line, so that any of them keeps the whole line in memory.
func Decode(line string) (*pb.SetupRecord, error) {
	d := &decoder{text: line}
	if !utf8.ValidString(line) {
		return nil, notUTF8(line)
	}
	m := new(pb.SetupRecord)
	if d.space(); d.peek() != '{' {
		d.unwanted("a set-up record in braces, such as {\"unit\": …}")
	} else if d.record(m) {
		if d.space(); d.at < len(line) {
			d.fail(d.at, "got %s after the record, want one record on a line", d.found())
		}
	}
	if d.message != "" {
		return nil, &Error{Column: column(line, d.failed), Field: d.path, Message: d.message}
	}
	return m, nil
}

func notUTF8(line string) *Error {
	for i, r := range line {
		if r != utf8.RuneError {
			continue
		}
		if _, size := utf8.DecodeRuneInString(line[i:]); size == 1 {
			return &Error{Column: column(line, i),
				Message: fmt.Sprintf("got the byte 0x%02X, which is not UTF-8 text; save the file as UTF-8", line[i])}
		}
	}
	return &Error{Column: 1, Message: "this is not UTF-8 text"}
}

func column(line string, at int) int { return utf8.RuneCountInString(line[:at]) + 1 }

// decoder reads values from a text, one after another. Its methods return false
// when something is wrong; what that is was then noted.
type decoder struct {
	text string
	at   int

	failed  int // where it was wrong
	path    string
	message string

	readings   slab[pb.Reading]
	values     slab[pb.Reading_Value]
	timestamps slab[stamp]
}

func (d *decoder) fail(at int, format string, args ...any) bool {
	if d.message == "" {
		d.failed, d.message = at, fmt.Sprintf(format, args...)
	}
	return false
}

// unwanted tells what stands here instead of what is wanted.
func (d *decoder) unwanted(want string) bool {
	return d.fail(d.at, "got %s, want %s", d.found(), want)
}

// slab gives out values that were allocated many at a time.
type slab[T any] struct {
	free []T
	size int
}

func (s *slab[T]) next() *T {
	if len(s.free) == 0 {
		s.size = min(max(2*s.size, 8), 128)
		s.free = make([]T, s.size)
	}
	v := &s.free[0]
	s.free = s.free[1:]
	return v
}
