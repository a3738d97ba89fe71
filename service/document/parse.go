package document

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// parse turns data into the tree of its one document.
func parse(data []byte, opt Options) (root *yaml.Node, err error) {
	most := opt.MaxBytes
	if most <= 0 {
		most = DefaultMaxBytes
	}
	if int64(len(data)) > most {
		return nil, &Error{File: opt.Name, Message: fmt.Sprintf("too large: got %d bytes, want at most %d", len(data), most)}
	}
	if problem := checkBytes(data); problem != nil {
		problem.File = opt.Name
		return nil, problem
	}
	// The parser is not ours. Should it break on something, that is still only
	// a document that cannot be read.
	defer func() {
		if recover() != nil {
			root, err = nil, &Error{File: opt.Name, Message: "this is not YAML that can be read"}
		}
	}()
	decoder := yaml.NewDecoder(bytes.NewReader(fromJSON(data)))
	var document, next yaml.Node
	if err := decoder.Decode(&document); errors.Is(err, io.EOF) {
		return nil, &Error{File: opt.Name, Message: "the document is empty"}
	} else if err != nil {
		return nil, syntaxError(err, data, opt.Name)
	}
	if len(document.Content) != 1 || isNull(document.Content[0]) {
		return nil, &Error{File: opt.Name, Message: "the document is empty"}
	}
	if err := decoder.Decode(&next); err == nil {
		return nil, &Error{File: opt.Name, Line: next.Line, Column: next.Column,
			Message: "a second document begins here; want one in a file"}
	} else if !errors.Is(err, io.EOF) {
		return nil, syntaxError(err, data, opt.Name)
	}
	return document.Content[0], nil
}

// checkBytes finds the first byte that belongs in no document.
func checkBytes(data []byte) *Error {
	bad, message := -1, ""
	if !utf8.Valid(data) {
		for i := 0; i < len(data); {
			r, size := utf8.DecodeRune(data[i:])
			if r == utf8.RuneError && size == 1 {
				bad, message = i, fmt.Sprintf("got the byte 0x%02X, which is not UTF-8 text; save the file as UTF-8", data[i])
				break
			}
			i += size
		}
	}
	if nul := bytes.IndexByte(data, 0); nul >= 0 && (bad < 0 || nul < bad) {
		bad, message = nul, "got a NUL byte; this is not a text file"
	}
	if bad < 0 {
		return nil
	}
	start := bytes.LastIndexByte(data[:bad], '\n') + 1
	return &Error{
		Line:    bytes.Count(data[:bad], []byte("\n")) + 1,
		Column:  utf8.RuneCount(data[start:bad]) + 1,
		Message: message,
	}
}

var lineInMessage = regexp.MustCompile(`^line (\d+): `)

// syntaxError turns an error of the parser into one for a person.
func syntaxError(err error, data []byte, file string) *Error {
	text := strings.TrimPrefix(err.Error(), "yaml: ")
	e := &Error{File: file}
	if found := lineInMessage.FindStringSubmatch(text); found != nil {
		e.Line, _ = strconv.Atoi(found[1])
		e.Column = 1
		text = text[len(found[0]):]
	}
	// The parser leaves the first line out, and counts from nought what it only
	// finds when putting tokens together.
	if e.Line == 0 || strings.HasPrefix(text, "did not find expected") && !strings.Contains(text, aliasName) {
		e.Line++
	}
	e.Line, e.Column = min(e.Line, bytes.Count(data, []byte("\n"))+1), 1
	e.Message = "this is not YAML or JSON that can be read"
	for _, known := range phrases {
		if strings.Contains(text, known.parser) {
			e.Message = known.person
			break
		}
	}
	locate(e, data, text)
	return e
}

const (
	aliasName     = "alphabetic or numeric character" // what is missing after * or &
	unknownAnchor = "unknown anchor"
	noControl     = "control characters"
	aliasPhrase   = "got an alias (*name) or anchor (&name): these are not used here; write it out, or put the text in quotes"
)

// phrases holds what the parser says and what that means, the particular
// before the general.
var phrases = []struct{ parser, person string }{
	{unknownAnchor, aliasPhrase},
	{aliasName, aliasPhrase},
	{noControl, "got a control character; this is not a plain text file"},
	{"mapping values are not allowed", `got a second ":" on one line; put the text in quotes, or begin a new line`},
	{"cannot start any token", "got a tab or a sign that cannot stand here; indent with spaces and put the text in quotes"},
	{"found a tab character", "got a tab; indent with spaces"},
	{"did not find expected key", "the indentation does not fit the lines above, or a colon is missing"},
	{"did not find expected '-' indicator", "the indentation does not fit the list above"},
	{"could not find expected ':'", `want a ":" after the name of a field`},
	{"did not find expected node content", "a value is missing, or a sign stands where none can"},
	{"did not find expected ',' or ']'", `want "," or "]" in a list in brackets`},
	{"did not find expected ',' or '}'", `want "," or "}" in fields in braces`},
	{"unexpected end of stream", "a quotation mark is not closed"},
	{"unexpected document indicator", "a quotation mark is not closed before the document ends"},
	{"escape", `got a "\" in quotes that means nothing; write it twice, or use single quotes`},
	{"exceeded max depth", "nested too deep"},
	{"block sequence entries are not allowed", `got a list entry "-" where none can stand; begin it on a new line`},
}

// locate improves the place of an error for which the parser gives none, or
// only the line.
func locate(e *Error, data []byte, text string) {
	at := -1
	switch {
	case strings.Contains(text, unknownAnchor):
		if _, rest, ok := strings.Cut(text, "'"); ok {
			name, _, _ := strings.Cut(rest, "'")
			at = bytes.Index(data, []byte("*"+name))
		}
	case strings.Contains(text, noControl):
		at = bytes.IndexFunc(data, func(r rune) bool { return r < ' ' && r != '\n' && r != '\r' && r != '\t' || r == 0x7f })
	case strings.Contains(text, aliasName):
		start := 0
		for range e.Line - 1 {
			start += bytes.IndexByte(data[start:], '\n') + 1
		}
		if i := bytes.IndexAny(data[start:], "*&"); i >= 0 {
			at = start + i
		}
	}
	if at < 0 {
		return
	}
	start := bytes.LastIndexByte(data[:at], '\n') + 1
	e.Line = bytes.Count(data[:at], []byte("\n")) + 1
	e.Column = utf8.RuneCount(data[start:at]) + 1
}
