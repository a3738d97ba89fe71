package batch

import (
	"bufio"
	"bytes"
	"errors"
	"io"
)

// mostLine is how many bytes a line, or a row of a table, may have: more than a
// record of a thousand readings needs, and little enough to hold.
const mostLine = 1 << 20

// errLongLine stands for a line that was skipped without being held.
var errLongLine = errors.New("the line is longer than 1 MiB")

// lineReader gives the lines of a text without their ends.
type lineReader struct {
	in   *bufio.Reader
	line int64 // number of the line that was given last
	long []byte
}

// next returns the next line, which is good until the call after. The error is
// [errLongLine] for one that is too long, and reading goes on after it; any other
// ends the text.
func (r *lineReader) next() ([]byte, error) {
	r.line++
	part, err := r.in.ReadSlice('\n')
	if err == nil {
		return trimEnd(part), nil // the usual case: it lies in the buffer whole
	}
	r.long = r.long[:0]
	tooLong := false
	for errors.Is(err, bufio.ErrBufferFull) {
		if tooLong = tooLong || len(r.long)+len(part) > mostLine; !tooLong {
			r.long = append(r.long, part...)
		}
		part, err = r.in.ReadSlice('\n')
	}
	switch {
	case err != nil && !errors.Is(err, io.EOF):
		return nil, err
	case tooLong || len(r.long)+len(part) > mostLine+len("\r\n"):
		return nil, errLongLine
	case err != nil && len(r.long)+len(part) == 0:
		r.line--
		return nil, io.EOF
	}
	r.long = append(r.long, part...)
	return trimEnd(r.long), nil
}

func trimEnd(line []byte) []byte {
	return bytes.TrimSuffix(bytes.TrimSuffix(line, []byte("\n")), []byte("\r"))
}
