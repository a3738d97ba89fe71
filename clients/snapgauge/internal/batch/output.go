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

var errParquetPacked = errors.New("a Parquet file is compressed within; want no .gz or .zst after .parquet")

// output is a file that comes to be when it is closed: it is written beside its
// place under another name, and then renamed. What is no regular file (a pipe, a
// device, standard output) cannot come to be at once, and is written as it goes.
type output struct {
	io.Writer
	name string // for people
	file *os.File
	temporary,
	final string // empty where it is written as it goes
	done bool
}

func createOutput(name string, out io.Writer) (*output, error) {
	if name == "-" {
		return &output{Writer: out, name: standardOutput}, nil
	}
	final := name
	if real, err := filepath.EvalSymlinks(name); err == nil {
		final = real // a link stays one
	}
	if info, err := os.Stat(final); err == nil {
		if info.IsDir() {
			return nil, errDirectory
		}
		if !info.Mode().IsRegular() {
			file, err := os.OpenFile(final, os.O_WRONLY, 0)
			return &output{Writer: file, name: name, file: file}, err
		}
	}
	directory, base := filepath.Split(final)
	temporary := filepath.Join(directory, "."+base+"."+rand.Text()[:8]+".part")
	file, err := os.OpenFile(temporary, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return nil, err
	}
	return &output{Writer: file, name: name, file: file, temporary: temporary, final: final}, nil
}

// finish puts the file in its place, or discards it if there was an error.
func (o *output) finish(err error) error {
	if o.done {
		return err
	}
	if err == nil && o.temporary != "" {
		err = o.file.Sync() // or a crash could leave an empty file under the name
	}
	if err != nil {
		o.discard()
		return fileError(o.name, err)
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
		return fileError(o.name, err)
	}
	return nil
}

func (o *output) discard() {
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
	out  *output
}

func newPacker(out *output, packed packing) (*packer, error) {
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

func (p *packer) fail(err error) error { return fileError(p.out.name, err) }

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

func (p *packer) Discard() { p.out.discard() }
