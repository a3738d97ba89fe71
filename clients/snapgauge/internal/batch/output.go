package batch

import (
	"bufio"
	"crypto/rand"
	"errors"
	"io"
	"os"
	"path/filepath"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
)

var (
	errParquetPacked   = errors.New("a Parquet file is compressed within; want no .gz or .zst after .parquet")
	errOutputDirectory = errors.New("this is a directory; want the name of a file")
)

// Output is a file that comes to be when it is closed: it is written beside its
// place under another name, and then renamed. What is no regular file (a pipe, a
// device) cannot come to be at once, and is written as it goes.
//
// One goroutine at a time may use it.
type Output struct {
	name string // for people
	to   io.Writer
	file *os.File // nil for standard output
	temporary,
	final string // empty where it is written as it goes
	size int64
	done bool
}

// CreateOutput begins a file of this name. One that is there is replaced when the
// output is closed, not before. The error names the file, as do those of the
// methods.
func CreateOutput(name string) (*Output, error) {
	o := &Output{name: name}
	err := o.create()
	if err != nil {
		return nil, outputError(name, err)
	}
	o.to = o.file
	return o, nil
}

func (o *Output) create() (err error) {
	final := o.name
	if real, err := filepath.EvalSymlinks(o.name); err == nil {
		final = real // a link stays one
	}
	if info, err := os.Stat(final); err == nil {
		if info.IsDir() {
			return errOutputDirectory
		}
		if !info.Mode().IsRegular() {
			o.file, err = os.OpenFile(final, os.O_WRONLY, 0)
			return err
		}
	}
	directory, base := filepath.Split(final)
	o.temporary, o.final = filepath.Join(directory, "."+base+"."+rand.Text()[:8]+".part"), final
	o.file, err = os.OpenFile(o.temporary, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	return err
}

// Write adds to the file.
func (o *Output) Write(p []byte) (int, error) {
	n, err := o.to.Write(p)
	o.size += int64(n)
	if err != nil {
		return n, outputError(o.name, err)
	}
	return n, nil
}

// Size is how many bytes were written.
func (o *Output) Size() int64 { return o.size }

// Close puts the file in its place. On an error it discards it.
func (o *Output) Close() error { return o.finish(nil) }

// finish puts the file in its place, or discards it if there was an error.
func (o *Output) finish(err error) error {
	if o.done {
		return err
	}
	if err == nil && o.temporary != "" {
		err = o.file.Sync() // or a crash could leave an empty file under the name
	}
	if err != nil {
		o.Discard()
		return outputError(o.name, err)
	}
	o.done = true
	if o.file != nil {
		err = o.file.Close()
	}
	if o.temporary != "" {
		if err == nil {
			err = os.Rename(o.temporary, o.final)
		}
		if err != nil {
			_ = os.Remove(o.temporary) // the first error is what counts
		}
	}
	if err != nil {
		return outputError(o.name, err)
	}
	return nil
}

// Discard removes what was written, where it can be taken back. After Close it
// does nothing, so that it can be deferred.
func (o *Output) Discard() {
	if o.done {
		return
	}
	o.done = true
	if o.file != nil {
		_ = o.file.Close() // nobody wants what is in it
	}
	if o.temporary != "" {
		_ = os.Remove(o.temporary) // hidden, and named as a part
	}
}

// packer writes text to an output, compressed if so wished.
type packer struct {
	*bufio.Writer
	over io.Closer // the compressor, or nil
	out  *Output
}

func newPacker(out *Output, packed packing) (*packer, error) {
	p := &packer{out: out}
	var below io.Writer = out
	switch packed {
	case packingGzip:
		// Neither name nor time stand in the header, so that equal results are
		// equal files.
		z := gzip.NewWriter(out)
		below, p.over = z, z
	case packingZstandard:
		// With one goroutine the blocks are cut at the same places every time.
		z, err := zstd.NewWriter(out, zstd.WithEncoderConcurrency(1))
		if err != nil {
			return nil, err
		}
		below, p.over = z, z
	}
	p.Writer = bufio.NewWriterSize(below, inputBuffer)
	return p, nil
}

func (p *packer) fail(err error) error { return outputError(p.out.name, err) }

func (p *packer) Close() error {
	if p.out.done {
		return nil
	}
	err := p.Flush()
	if p.over != nil {
		err = errors.Join(err, p.over.Close())
	}
	return p.out.finish(err)
}

func (p *packer) Discard() { p.out.Discard() }
