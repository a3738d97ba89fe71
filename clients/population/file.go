package main

import (
	"compress/gzip"
	"io"
	"os"
	"strings"

	"github.com/klauspost/compress/zstd"
)

// file is what is written to: packed or not, in a file or not.
type file struct {
	w       io.Writer
	closers []io.Closer // innermost first
}

// create opens a file for writing; "-" is standard output, which stays open.
func create(name string, stdout io.Writer) (*file, error) {
	if name == "-" {
		return &file{w: stdout}, nil
	}
	opened, err := os.Create(name)
	if err != nil {
		return nil, err
	}
	f := &file{w: opened, closers: []io.Closer{opened}}
	switch {
	case strings.HasSuffix(name, ".gz"):
		packed := gzip.NewWriter(opened) // without a time, so that the bytes are the same again
		f.w, f.closers = packed, []io.Closer{packed, opened}
	case strings.HasSuffix(name, ".zst"):
		packed, err := zstd.NewWriter(opened, zstd.WithEncoderConcurrency(1))
		if err != nil {
			_ = opened.Close()
			return nil, err
		}
		f.w, f.closers = packed, []io.Closer{packed, opened}
	}
	return f, nil
}

// close ends what is written; what went wrong first is told.
func (f *file) close() error {
	var first error
	for _, c := range f.closers {
		if err := c.Close(); err != nil && first == nil {
			first = err
		}
	}
	return first
}
