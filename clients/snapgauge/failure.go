package main

import (
	"cmp"
	"errors"
	"fmt"
	"strings"

	"google.golang.org/grpc/codes"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/oswords"
	"github.com/snapgauge/snapgauge/service/document"
)

// exitCode is what the program ends with. Of several the greatest is taken.
type exitCode int

const (
	exitAccept      exitCode = 0
	exitVerdict     exitCode = 1
	exitInput       exitCode = 2
	exitServer      exitCode = 3
	exitInterrupted exitCode = 130
)

// failure is what went wrong, in lines for a person.
type failure struct {
	code  exitCode
	lines []string
	// status is that of the server's answer; codes.OK where it has no part in it.
	status codes.Code
}

func (f *failure) Error() string { return strings.Join(f.lines, "\n") }

// usage is a failure of the command line that was typed.
func usage(format string, args ...any) *failure {
	return &failure{code: exitInput, lines: []string{"snapgauge: " + fmt.Sprintf(format, args...)}}
}

// badInput is a failure that no file is to blame for.
func badInput(text string) *failure {
	return &failure{code: exitInput, lines: []string{"snapgauge: " + text}}
}

// nothingFound makes a question of which nothing was found one that was answered
// so: exit code 1. It is for questions whose other answers have exit code 0.
func nothingFound(err error) error {
	if f := (*failure)(nil); errors.As(err, &f) && f.status == codes.NotFound {
		f.code = exitVerdict
	}
	return err
}

// place is where a document came from. The zero place is the command line.
type place struct {
	name  string
	lines *document.Lines
	// root is the field of the request that the document is; empty means
	// "record".
	root string
	// words are what the command line calls fields of the request, where that is
	// not what [flagOf] says.
	words map[string]string
	// beside are further documents of the request, each with its own root.
	beside []place
}

// document finds the document of the request that a field is of, and the path in
// it. Where it is of none, it is p with the path as it stands. order is that of
// the documents.
func (p place) document(path string) (of place, field string, order int, ok bool) {
	for i, of := range append([]place{p}, p.beside...) {
		if field, ok := of.documentField(path); ok {
			return of, field, i, true
		}
	}
	return p, path, 0, false
}

// documentField takes the field of the request that is the document off the path
// of a field.
func (p place) documentField(path string) (field string, inDocument bool) {
	root := cmp.Or(p.root, "record")
	if path == root {
		return "", true
	}
	if field, ok := strings.CutPrefix(path, root+"."); ok {
		return field, true
	}
	return path, false
}

// at begins a message about a field of the document: "file:12:5: ".
func (p place) at(field string) string {
	if p.name == "" {
		return "snapgauge: "
	}
	line, column, _ := p.lines.Line(field)
	if line == 0 {
		return p.name + ": "
	}
	return fmt.Sprintf("%s:%d:%d: ", p.name, line, column)
}

// about begins a message about the document as a whole.
func (p place) about() string {
	if p.name == "" {
		return "snapgauge: "
	}
	return p.name + ": "
}

// unreadable is a failure to read a file.
func unreadable(name string, err error) *failure {
	return &failure{code: exitInput, lines: []string{name + ": " + oswords.Reason(err)}}
}

// mostFaults of one file are told; the rest are often only more of the same.
const mostFaults = 12

// undecodable is a failure to make a record of a file's content.
func undecodable(err error) *failure {
	var all document.Errors
	if errors.As(err, &all) {
		f := &failure{code: exitInput}
		for i, e := range all {
			if i == mostFaults {
				f.lines = append(f.lines, fmt.Sprintf("%s: and %d more", layout.Clean(e.File), len(all)-i))
				break
			}
			f.lines = append(f.lines, layout.Clean(e.Error()))
		}
		return f
	}
	return &failure{code: exitInput, lines: []string{layout.Clean(err.Error())}}
}
