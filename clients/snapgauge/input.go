package main

import (
	"fmt"
	"io"
	"os"

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

// readRecord reads a record from a file, or from standard input for "-". No
// more than a little above [maxRecordBytes] is read, whatever is there. The
// error is always a *failure.
func (a *app) readRecord(file string) (*input, error) {
	name, data, err := a.readFile(file)
	if err != nil {
		return nil, err
	}
	in := &input{place: place{name: name}, data: data, record: new(pb.SetupRecord)}
	if in.lines, err = document.Decode(data, in.record, document.Options{Name: name, MaxBytes: maxRecordBytes}); err != nil {
		return nil, undecodable(err)
	}
	return in, nil
}

func (a *app) readFile(file string) (name string, data []byte, err error) {
	name, source := standardInput, a.in
	if file != "-" {
		name = file
		info, err := os.Stat(file)
		if err != nil {
			return name, nil, unreadable(name, err)
		}
		if info.IsDir() {
			return name, nil, &failure{code: exitInput, lines: []string{name + ": this is a directory; want a set-up record"}}
		}
		opened, err := os.Open(file)
		if err != nil {
			return name, nil, unreadable(name, err)
		}
		defer func() { _ = opened.Close() }() // only read from
		source = opened
	}
	data, err = io.ReadAll(io.LimitReader(source, maxRecordBytes+1))
	switch {
	case err != nil:
		return name, nil, unreadable(name, err)
	case len(data) > maxRecordBytes:
		return name, nil, &failure{code: exitInput, lines: []string{
			fmt.Sprintf("%s: too large: a record has at most %d bytes", name, maxRecordBytes)}}
	}
	return name, data, nil
}

// eachRecord reads every file and hands it on. What goes wrong with one does
// not keep the next from being tried.
func (a *app) eachRecord(files []string, do func(*input) error) error {
	stdin := 0
	for _, file := range files {
		if file == "-" {
			stdin++
		}
	}
	if stdin > 1 {
		return usage("standard input (-) is given twice")
	}
	for _, file := range files {
		in, err := a.readRecord(file)
		if err == nil {
			err = do(in)
		}
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
