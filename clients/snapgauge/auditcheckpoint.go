package main

import (
	"bufio"
	"errors"
	"io"
	"os"

	"google.golang.org/protobuf/encoding/protodelim"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// checkpointPart is how much of a checkpoint travels in a message.
const checkpointPart = 1 << 20

// checkpoint is what an audit must be given to go on where it stood.
type checkpoint struct {
	count int64 // records that it covers
	parts [][]byte
	whole bool // the last part has come
}

// add takes the next part. A part of another checkpoint begins that one.
func (c *checkpoint) add(part *pb.AuditCheckpoint) {
	if c.whole || part.GetRecordCount() != c.count {
		*c = checkpoint{count: part.GetRecordCount()}
	}
	c.parts = append(c.parts, part.GetPart())
	c.whole = part.GetLast()
}

// each gives it in messages, in parts that are small enough whatever their size
// was when they came. That of nil, with which an audit begins, has none.
func (c *checkpoint) each(do func(*pb.AuditCheckpoint) error) error {
	if c == nil {
		return nil
	}
	for i, part := range c.parts {
		for {
			n := min(len(part), checkpointPart)
			last := i == len(c.parts)-1 && n == len(part)
			if err := do(&pb.AuditCheckpoint{RecordCount: c.count, Part: part[:n], Last: last}); err != nil {
				return err
			}
			if part = part[n:]; len(part) == 0 {
				break
			}
		}
	}
	return nil
}

// records is how many records it covers; that of nil none.
func (c *checkpoint) records() int64 {
	if c == nil {
		return 0
	}
	return c.count
}

// savedHead begins a file with a checkpoint, so that another file is not taken for
// one. The number is that of the form of the file, not of the state in it.
const savedHead = "snapgauge audit 1\n"

// write writes it as a file: the head, then its messages, each after its length.
func (c *checkpoint) write(w io.Writer) error {
	if _, err := io.WriteString(w, savedHead); err != nil {
		return err
	}
	return c.each(func(part *pb.AuditCheckpoint) error {
		_, err := protodelim.MarshalTo(w, part)
		return err
	})
}

var (
	errNotSaved = errors.New("this is no saved audit; want what snapgauge audit --save writes")
	errCutShort = errors.New("the saved audit ends too early: the file is not whole")
)

// eachSaved reads a file with a checkpoint, part by part. The error is a *failure,
// or that of do.
func eachSaved(name string, do func(*pb.AuditCheckpoint) error) error {
	file, err := os.Open(name)
	if err != nil {
		return unreadable(name, err)
	}
	defer func() { _ = file.Close() }() // only read from
	r := bufio.NewReader(file)
	head := make([]byte, len(savedHead))
	if n, err := io.ReadFull(r, head); err != nil && n == 0 && !errors.Is(err, io.EOF) {
		return unreadable(name, err) // a directory
	}
	if string(head) != savedHead {
		return unreadable(name, errNotSaved)
	}
	options := protodelim.UnmarshalOptions{MaxSize: 2 * checkpointPart}
	for last := false; !last; {
		part := new(pb.AuditCheckpoint)
		err := options.UnmarshalFrom(r, part)
		switch {
		case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
			return unreadable(name, errCutShort)
		case err != nil:
			return unreadable(name, errNotSaved)
		}
		if err := do(part); err != nil {
			return err
		}
		last = part.GetLast()
	}
	if _, err := r.ReadByte(); !errors.Is(err, io.EOF) {
		return unreadable(name, errNotSaved)
	}
	return nil
}
