package main

import (
	"bytes"
	"fmt"
	"io"
	"os"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
)

// maxRecordBytes is the largest record that is read.
const maxRecordBytes = 1 << 20

const standardInput = "standard input"

// input is one record, as it was read.
type input struct {
	place
	data   []byte
	record *pb.SetupRecord
}

// where says in words where in the file a field of the record is; empty where it
// is not there. JSON is often one long line, so that its column is told as well.
func (in *input) where(field string) string {
	line, column, ok := in.lines.Line(field)
	switch {
	case !ok:
		return ""
	case bytes.HasPrefix(bytes.TrimLeft(in.data, "\ufeff \t\r\n"), []byte("{")):
		return fmt.Sprintf("line %d, column %d", line, column)
	}
	return fmt.Sprintf("line %d", line)
}

// readRecord reads a record from a file, or from standard input for "-". No
// more than a little above [maxRecordBytes] is read, whatever is there. The
// error is always a *failure.
func (a *app) readRecord(file string) (*input, error) {
	in := &input{record: new(pb.SetupRecord)}
	var err error
	in.place, in.data, err = a.readDocument(file, "set-up record", maxRecordBytes, in.record)
	return in, err
}

// readDocument reads a message of at most so many bytes from a file, or from
// standard input for "-"; what says in words what is wanted. The error is always
// a *failure.
func (a *app) readDocument(file, what string, most int64, m proto.Message) (place, []byte, error) {
	p := place{name: file}
	if file == "-" {
		p.name = standardInput
	}
	data, err := a.readFile(file, what, most)
	if err != nil {
		return p, nil, err
	}
	if p.lines, err = document.Decode(data, m, document.Options{Name: p.name, MaxBytes: most}); err != nil {
		return p, nil, undecodable(err)
	}
	return p, data, nil
}

func (a *app) readFile(file, what string, most int64) (data []byte, err error) {
	name, source := standardInput, a.in
	if file != "-" {
		name = file
		info, err := os.Stat(file)
		if err != nil {
			return nil, unreadable(name, err)
		}
		if info.IsDir() {
			return nil, &failure{code: exitInput, lines: []string{name + ": this is a directory; want a " + what}}
		}
		opened, err := os.Open(file)
		if err != nil {
			return nil, unreadable(name, err)
		}
		defer func() { _ = opened.Close() }() // only read from
		source = opened
	}
	data, err = io.ReadAll(io.LimitReader(source, most+1))
	switch {
	case err != nil:
		return nil, unreadable(name, err)
	case int64(len(data)) > most:
		return nil, &failure{code: exitInput, lines: []string{
			fmt.Sprintf("%s: too large: a %s has at most %d bytes", name, what, most)}}
	}
	return data, nil
}

// eachRecord reads every record and hands it on. What goes wrong with one does
// not keep the next from being tried.
func (a *app) eachRecord(files []string, do func(*input) error) error {
	return a.eachFile(files, func(file string) error {
		in, err := a.readRecord(file)
		if err != nil {
			return err
		}
		return do(in)
	})
}

// eachFile does something with every file. What goes wrong with one does not keep
// the next from being tried.
func (a *app) eachFile(files []string, do func(file string) error) error {
	if err := stdinOnce(files); err != nil {
		return err
	}
	for _, file := range files {
		err := do(file)
		if err == nil {
			continue
		}
		f := asFailure(err)
		a.fail(f)
		if f.code == exitInterrupted {
			return nil
		}
	}
	return nil
}

// stdinOnce refuses to read standard input for two files.
func stdinOnce(files []string) error {
	stdin := 0
	for _, file := range files {
		if file == "-" {
			stdin++
		}
	}
	if stdin > 1 {
		return usage("standard input (-) is given twice")
	}
	return nil
}
