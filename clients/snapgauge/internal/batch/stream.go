package batch

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"sync/atomic"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
)

const (
	// inputBuffer is how much of a file is asked for at once.
	inputBuffer = 256 << 10
	// mostWindow is how far back in a Zstandard stream a file may refer, and so
	// about what unpacking one holds: what `zstd --ultra -22` makes needs no more.
	mostWindow = 128 << 20
)

// stream is the text of a file, unpacked, and how much of the file was read.
type stream struct {
	name  string // for people
	text  *bufio.Reader
	total int64
	read  atomic.Int64
	close func() error
}

// openStream opens a file, or takes in for "-". Packing is recognised by its
// first bytes; where the name promises one, there must be one.
func openStream(name string, in io.Reader, promised packing) (*stream, error) {
	s := &stream{name: displayName(name), close: func() error { return nil }}
	file, _ := in.(*os.File)
	if name != "-" {
		opened, err := os.Open(name)
		if err != nil {
			return nil, fileError(s.name, err)
		}
		in, file, s.close = opened, opened, opened.Close
	}
	if err := s.unpack(in, file, promised); err != nil {
		_ = s.close() // only read from
		return nil, fileError(s.name, err)
	}
	return s, nil
}

func (s *stream) unpack(in io.Reader, file *os.File, promised packing) error {
	if file != nil {
		switch info, err := file.Stat(); {
		case err != nil:
			return err
		case info.IsDir():
			return errDirectory
		case info.Mode().IsRegular():
			s.total = info.Size()
		}
	}
	raw := bufio.NewReaderSize(&counter{in, &s.read}, inputBuffer)
	first, err := raw.Peek(4)
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	packed := promised
	switch {
	case bytes.HasPrefix(first, []byte{0x1f, 0x8b}):
		packed = packingGzip
	case bytes.HasPrefix(first, []byte{0x28, 0xb5, 0x2f, 0xfd}):
		packed = packingZstandard
	case len(first) == 0:
		packed = packingNone // an empty file has no records, whatever its name
	}
	switch packed {
	case packingGzip:
		unpacked, err := gzip.NewReader(raw)
		if err != nil {
			return broken(err)
		}
		s.text = bufio.NewReaderSize(unpacked, inputBuffer)
	case packingZstandard:
		// One goroutine: reading records costs more than unpacking them.
		unpacked, err := zstd.NewReader(raw, zstd.WithDecoderConcurrency(1), zstd.WithDecoderLowmem(true),
			zstd.WithDecoderMaxWindow(mostWindow))
		if err != nil {
			return broken(err)
		}
		closeFile := s.close
		s.close = func() error { unpacked.Close(); return closeFile() }
		s.text = bufio.NewReaderSize(unpacked, inputBuffer)
	default:
		s.text = raw
	}
	return s.begin()
}

// begin looks at the first bytes of the text: it skips a byte order mark and
// refuses what is not text at all, while that can be said in one line.
func (s *stream) begin() error {
	first, err := s.text.Peek(4)
	if err != nil && !errors.Is(err, io.EOF) {
		return broken(err)
	}
	switch {
	case bytes.HasPrefix(first, []byte("\xef\xbb\xbf")):
		_, err := s.text.Discard(3)
		return err
	case bytes.HasPrefix(first, []byte("\xff\xfe")), bytes.HasPrefix(first, []byte("\xfe\xff")):
		return errors.New("this is UTF-16; save it as UTF-8")
	case bytes.HasPrefix(first, []byte("PAR1")):
		return errors.New("this is a Parquet file; want a name that ends in .parquet")
	case bytes.HasPrefix(first, []byte("PK\x03\x04")):
		return errors.New("this is a ZIP archive or the workbook of a spreadsheet; save the sheet as CSV")
	case bytes.HasPrefix(first, []byte{0x1f, 0x8b}), bytes.HasPrefix(first, []byte{0x28, 0xb5, 0x2f, 0xfd}):
		return errors.New("this is compressed twice; want it compressed once")
	}
	return nil
}

// broken says in words what is wrong with a compressed stream; other errors are
// returned as they are.
func broken(err error) error {
	switch {
	case errors.Is(err, io.ErrUnexpectedEOF):
		return fmt.Errorf("the compressed data ends too early: the file is not whole (%w)", err)
	case errors.Is(err, gzip.ErrHeader), errors.Is(err, zstd.ErrMagicMismatch):
		return fmt.Errorf("is not compressed as its name says (%w)", err)
	case errors.Is(err, zstd.ErrWindowSizeExceeded), errors.Is(err, zstd.ErrDecoderSizeExceeded):
		return fmt.Errorf("needs more than %d MiB to unpack; compress it without --long (%w)", mostWindow>>20, err)
	case errors.Is(err, gzip.ErrChecksum), errors.Is(err, zstd.ErrCRCMismatch):
		return fmt.Errorf("the compressed data is damaged (%w)", err)
	}
	return fmt.Errorf("cannot be read on: %w", err)
}

func (s *stream) Progress() (done, total int64) { return s.read.Load(), s.total }

func (s *stream) Close() error { return s.close() }

// counter counts what is read.
type counter struct {
	io.Reader
	n *atomic.Int64
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.Reader.Read(p)
	c.n.Add(int64(n))
	return n, err
}
