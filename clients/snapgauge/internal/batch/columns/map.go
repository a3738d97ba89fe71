package columns

import (
	"fmt"
	"io"
	"os"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/snapgauge/snapgauge/service/document"
)

// Map says what the columns of a table mean. It is immutable and safe for
// concurrent use.
type Map struct {
	name       string // of its file
	perReading bool   // whether a row is a reading, not a record
	separator  byte   // nought: to be recognised
	empty      map[string]bool
	conventions

	names   []string  // of the columns of the table, each once
	columns []*column // as they are mentioned
	key     *column   // what the rows of one record have in common
	record  *message
}

// message is what the map says of a message.
type message struct {
	path   string
	line   int
	desc   protoreflect.MessageDescriptor
	fields []*field
	varies bool            // whether there is a column within
	only   map[string]bool // characteristics that an entry of readings is for
}

// field is what the map says of a field, or of one entry of a list: it has a
// constant, a column, a message or entries.
type field struct {
	path     string
	line     int
	desc     protoreflect.FieldDescriptor
	constant protoreflect.Value
	column   *column
	message  *message
	entries  []*field // nil where it is no list
}

// varies reports whether rows can say different things of the field.
func (f *field) varies() bool { return len(f.within()) > 0 }

// within are the columns of the field and of all that is in it.
func (f *field) within() []*column {
	var all []*column
	if f.column != nil {
		all = append(all, f.column)
	}
	if f.message != nil {
		for _, sub := range f.message.fields {
			all = append(all, sub.within()...)
		}
	}
	for _, entry := range f.entries {
		all = append(all, entry.within()...)
	}
	return all
}

// field finds what the map says of a field.
func (m *message) field(name protoreflect.Name) *field {
	if m == nil {
		return nil
	}
	for _, f := range m.fields {
		if f.desc.Name() == name {
			return f
		}
	}
	return nil
}

// column is one mention of a column of the table, or of several whose texts are
// put together.
type column struct {
	path         string
	line, column int // in the map
	ids          []int
	words        words
	times        *timeLayout // nil: as the whole table has them
	split        string      // between the entries of a list; empty: blanks and the usual signs
}

// title names the column for a message.
func (m *Map) title(c *column) string {
	if len(c.ids) == 0 {
		return ""
	}
	return m.names[c.ids[0]]
}

// mostBytes is how large a map may be: many times what one of a thousand
// characteristics is.
const mostBytes = 4 << 20

// Read reads a map from a file. What is wrong with it is told as
// document.Errors; where the file cannot be read, the error is that of the system.
func Read(file string) (*Map, error) {
	opened, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer func() { _ = opened.Close() }() // only read from
	data, err := io.ReadAll(io.LimitReader(opened, mostBytes+1))
	switch {
	case err != nil:
		return nil, err
	case len(data) > mostBytes:
		return nil, document.Errors{{File: file, Message: fmt.Sprintf("too large: a column map has at most %d MiB", mostBytes>>20)}}
	}
	return Parse(data, file)
}
