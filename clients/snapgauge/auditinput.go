package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"sync/atomic"

	"google.golang.org/protobuf/proto"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch/columns"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
)

// auditInput are the files of an audit, which are read one after another as if
// they were one.
type auditInput struct {
	files   []string
	stdin   io.Reader
	options batch.Options
	// total is how many bytes they have together; nought where that is not known.
	total int64

	records atomic.Int64 // read so far
	before  atomic.Int64 // bytes of the files that are read
	current atomic.Pointer[batch.Source]
}

// openInput looks at all files before the first is read, so that one that cannot
// be read is told at once and not after hours. What is no regular file can be read
// only once, and is not looked at. The error is a *failure.
func (a *app) openInput(files []string, format, columnMap string) (*auditInput, error) {
	if err := stdinOnce(files); err != nil {
		return nil, err
	}
	if err := eachFileOnce(files); err != nil {
		return nil, err
	}
	in := &auditInput{files: files, stdin: a.in, options: batch.Options{Format: format}}
	if columnMap != "" {
		m, err := columns.Read(columnMap)
		if errors.As(err, new(*fs.PathError)) {
			return nil, unreadable(columnMap, err)
		}
		if err != nil {
			return nil, inputFailure(err)
		}
		in.options.Columns = m
	}
	known := true
	f := &failure{code: exitInput}
	for _, file := range files {
		if file == "-" {
			stdin, _ := a.in.(*os.File)
			size, ok := sizeOf(stdin)
			in.total, known = in.total+size, known && ok
			continue
		}
		if info, err := os.Stat(file); err == nil && !info.Mode().IsRegular() && !info.IsDir() {
			known = false
			continue
		}
		source, err := batch.Open(file, nil, in.options)
		if err != nil {
			f.lines = append(f.lines, inputFailure(err).lines...)
			continue
		}
		_, total := source.Progress()
		in.total, known = in.total+total, known && total > 0
		_ = source.Close() // only read from
	}
	if len(f.lines) > 0 {
		return nil, f
	}
	if columnMap != "" && !slices.ContainsFunc(files, func(file string) bool { return batch.IsTable(file, format) }) {
		return nil, usage("--columns: goes with a table; want a FILE that is CSV or Parquet")
	}
	if !known {
		in.total = 0
	}
	return in, nil
}

// sizeOf is the size of a regular file.
func sizeOf(file *os.File) (int64, bool) {
	if file == nil {
		return 0, false
	}
	info, err := file.Stat()
	if err != nil || !info.Mode().IsRegular() {
		return 0, false
	}
	return info.Size(), true
}

// inputFailure is a failure to read records.
func inputFailure(err error) *failure {
	var all document.Errors
	if errors.As(err, &all) {
		return undecodable(err)
	}
	text := layout.Clean(err.Error())
	switch {
	case errors.Is(err, batch.ErrNoColumns):
		text += "; --columns names one, and snapgauge audit columns MODEL prints one to begin with"
	case errors.Is(err, batch.ErrUnknownFormat):
		text += "; or say it with --format"
	}
	return &failure{code: exitInput, lines: []string{text}}
}

// read reads all files and puts their records into the feed. It returns when
// nobody wants more, and tells the feed how it ended.
func (in *auditInput) read(to *feed) {
	for _, file := range in.files {
		more, err := in.readFile(file, to)
		if err != nil {
			to.finish(inputFailure(err))
			return
		}
		if !more {
			return
		}
	}
	to.finish(io.EOF)
}

func (in *auditInput) readFile(file string, to *feed) (more bool, err error) {
	source, err := batch.Open(file, in.stdin, in.options)
	if err != nil {
		return false, err
	}
	in.current.Store(&source)
	defer func() {
		done, _ := source.Progress()
		in.current.Store(nil)
		in.before.Add(done)
		_ = source.Close() // only read from
	}()
	for {
		item, err := source.Next()
		if errors.Is(err, io.EOF) {
			return true, nil
		}
		if err != nil {
			return false, err
		}
		request := &pb.AuditSetupsRequest{Message: &pb.AuditSetupsRequest_Record{Record: item.Record}}
		if item.Record == nil {
			request.Message = &pb.AuditSetupsRequest_Unreadable{Unreadable: &pb.UnreadableRecord{Message: item.Unreadable}}
		}
		message, err := proto.Marshal(request)
		if err != nil {
			return false, fmt.Errorf("%s: %w", item.Place, err)
		}
		in.records.Add(1)
		if !to.put(message, item.Place) {
			return false, nil
		}
	}
}

// share is which part of the input the first so many records are, by its bytes;
// ok is false where that cannot be said. What was read ahead is taken off, as if
// records were all of one size.
func (in *auditInput) share(records int64) (share float64, ok bool) {
	if in == nil || in.total == 0 {
		return 0, false
	}
	bytes := in.before.Load()
	if source := in.current.Load(); source != nil {
		done, _ := (*source).Progress()
		bytes += done
	}
	read := in.records.Load()
	if read == 0 || bytes == 0 {
		return 0, false
	}
	return min(1, float64(bytes)/float64(in.total)*float64(records)/float64(read)), true
}
