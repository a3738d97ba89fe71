package batch

import (
	"fmt"
	"unicode/utf8"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Item is what stands at one place of a source: a record, or why there is none.
type Item struct {
	// Record that was read; nil where it could not be. It is not to be changed:
	// records of one file may share parts, and their texts are parts of the line
	// that they were read from.
	Record *pb.SetupRecord
	// Unreadable says why there is no record, on one line that an
	// UnreadableRecord has room for. Empty where there is one.
	Unreadable string
	// Place where it begins.
	Place Place
}

// Place is where in a file something stands.
type Place struct {
	// File as the caller named it; "standard input" for "-".
	File string
	// Line is that of the text, from 1, as an editor counts it. In a Parquet file,
	// which has none, it is the row, from 1. Nought where the whole file is meant.
	Line int64
}

// String is the place as people and editors read it: "records.jsonl:1234".
func (p Place) String() string {
	if p.Line == 0 {
		return p.File
	}
	return fmt.Sprintf("%s:%d", p.File, p.Line)
}

// mostUnreadable is how many characters an UnreadableRecord takes.
const mostUnreadable = 1024

// unreadable is an item without a record.
func unreadable(place Place, why string) Item {
	why = layout.Clean(why)
	if utf8.RuneCountInString(why) > mostUnreadable {
		why = string([]rune(why)[:mostUnreadable-1]) + "…"
	}
	return Item{Unreadable: why, Place: place}
}
