package batch

import (
	"bytes"
	"errors"
	"io"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch/recordjson"
)

// jsonLines reads a record from each line that is not blank.
type jsonLines struct {
	*stream
	lines lineReader
	err   error
}

func newJSONLines(s *stream) *jsonLines {
	return &jsonLines{stream: s, lines: lineReader{in: s.text}}
}

func (j *jsonLines) Next() (Item, error) {
	if j.err != nil {
		return Item{}, j.err
	}
	for {
		line, err := j.lines.next()
		place := Place{j.name, j.lines.line}
		switch {
		case errors.Is(err, errLongLine):
			return unreadable(place, err.Error()), nil
		case errors.Is(err, io.EOF):
			j.err = io.EOF
			return Item{}, j.err
		case err != nil:
			j.err = fileError(j.name, broken(err))
			return Item{}, j.err
		}
		if len(bytes.TrimSpace(line)) == 0 {
			continue
		}
		record, err := recordjson.Decode(string(line))
		if err != nil {
			return unreadable(place, err.Error()), nil
		}
		return Item{Record: record, Place: place}, nil
	}
}
