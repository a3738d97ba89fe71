package batch

import (
	"errors"
	"strings"
)

// format is how records or results are written down in a file.
type format int

const (
	formatUnknown format = iota
	formatJSONLines
	formatCSV
	formatParquet
)

// packing is what lies over a format.
type packing int

const (
	packingNone packing = iota
	packingGzip
	packingZstandard
)

// Formats are the names that [Options] and the endings of file names take.
var Formats = []string{"jsonl", "ndjson", "csv", "parquet"}

var formatsByName = map[string]format{
	"jsonl": formatJSONLines, "ndjson": formatJSONLines, "csv": formatCSV, "parquet": formatParquet,
}

var packingEndings = []struct {
	ending string
	packing
}{{".gz", packingGzip}, {".zst", packingZstandard}}

// ErrUnknownFormat is that of a file whose name does not say its format, where
// nobody else did.
var ErrUnknownFormat = errors.New("the name does not say what is in it; want one that ends in .jsonl, .ndjson, .csv or " +
	".parquet, the first three with .gz or .zst after that where it is compressed")

// formatOf tells the format by the name of a file, "-" being JSON Lines, unless
// one is given.
func formatOf(name, given string) (format, packing, error) {
	base, packed := strings.ToLower(name), packingNone
	for _, p := range packingEndings {
		if rest, ok := strings.CutSuffix(base, p.ending); ok {
			base, packed = rest, p.packing
			break
		}
	}
	if given != "" {
		f, ok := formatsByName[strings.ToLower(given)]
		if !ok {
			return formatUnknown, packed, errors.New("there is no format " + given + "; want " + strings.Join(Formats, ", "))
		}
		return f, packed, nil
	}
	if name == "-" {
		return formatJSONLines, packingNone, nil
	}
	if dot := strings.LastIndexByte(base, '.'); dot >= 0 {
		if f, ok := formatsByName[base[dot+1:]]; ok {
			return f, packed, nil
		}
	}
	return formatUnknown, packed, ErrUnknownFormat
}

// IsTable reports whether a file has columns that a map can say the meaning of, by
// its name or by the format given.
func IsTable(name, given string) bool {
	f, _, _ := formatOf(name, given)
	return f == formatCSV || f == formatParquet
}
