package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"sync"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch"
)

const (
	// readAhead is how many records are read before the first of them is sent.
	// More would only lie here: what slows an audit down is the judging.
	readAhead = 64
	// mostKeptBytes is how much of the records since the newest checkpoint is kept
	// to be sent again. Ten thousand usual records take a tenth of it.
	mostKeptBytes = 512 << 20
)

// feed holds the records of an audit from its newest checkpoint on, between who
// reads them and who sends them. Who reads waits while who sends does, so that it
// holds no more than lie between two checkpoints and what is under way.
type feed struct {
	mu      sync.Mutex
	changed *sync.Cond
	records []kept
	first   int64 // index of the first of the records
	sent    int64 // index after the last that was taken
	ended   error // io.EOF after the last record, or why reading stopped
	stopped bool  // nobody wants more

	bytes, mostBytes int64
	forgotten        int64 // records before this index cannot be sent again
	longest          int   // the most that was held at a time
}

// kept is a record as it is sent, and where it stands.
type kept struct {
	message wire // nil where it was forgotten
	place   batch.Place
}

// forgottenError says that an audit cannot go on, since too much was sent since
// its newest checkpoint.
type forgottenError struct{ most int64 }

func (e *forgottenError) Error() string {
	return fmt.Sprintf("more than %d MB of records were sent since the newest checkpoint, too many to keep; a smaller --checkpoint-interval needs fewer", e.most>>20)
}

func newFeed() *feed {
	f := &feed{mostBytes: mostKeptBytes}
	f.changed = sync.NewCond(&f.mu)
	return f
}

// put adds a record. It waits while enough are there that were not sent, and
// reports whether more are wanted.
func (f *feed) put(message wire, place batch.Place) bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	for f.end()-f.sent >= readAhead && !f.stopped {
		f.changed.Wait()
	}
	if f.stopped {
		return false
	}
	f.records = append(f.records, kept{message, place})
	f.bytes += int64(len(message))
	f.longest = max(f.longest, len(f.records))
	for ; f.bytes > f.mostBytes && f.forgotten < f.sent; f.forgotten++ {
		one := &f.records[f.forgotten-f.first]
		f.bytes -= int64(len(one.message))
		one.message = nil
	}
	f.changed.Broadcast()
	return true
}

// end is the index after the last record.
func (f *feed) end() int64 { return f.first + int64(len(f.records)) }

// finish tells that no record follows: io.EOF after the last, else why reading
// stopped.
func (f *feed) finish(err error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.ended = err
	f.changed.Broadcast()
}

// stop tells who reads that no more is wanted.
func (f *feed) stop() {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.stopped = true
	f.changed.Broadcast()
}

// take waits for the record of this index. After the last it returns io.EOF; where
// reading stopped, why. Who begins anew takes an index again.
func (f *feed) take(ctx context.Context, index int64) (wire, error) {
	wake := context.AfterFunc(ctx, func() {
		f.mu.Lock()
		defer f.mu.Unlock()
		f.changed.Broadcast()
	})
	defer wake()
	f.mu.Lock()
	defer f.mu.Unlock()
	for index >= f.end() && f.ended == nil && ctx.Err() == nil {
		f.changed.Wait()
	}
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case index >= f.end():
		return nil, f.ended
	case index < f.forgotten:
		return nil, &forgottenError{f.mostBytes}
	}
	f.sent = index + 1
	f.changed.Broadcast()
	return f.records[index-f.first].message, nil
}

// place is where the record of this index stands, which must not be released.
func (f *feed) place(index int64) (batch.Place, bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if index < f.first || index >= f.end() {
		return batch.Place{}, false
	}
	return f.records[index-f.first].place, true
}

// release lets go of the records before this index: a checkpoint covers them.
func (f *feed) release(index int64) {
	f.mu.Lock()
	defer f.mu.Unlock()
	n := min(max(index-f.first, 0), int64(len(f.records)))
	for _, one := range f.records[:n] {
		f.bytes -= int64(len(one.message))
	}
	clear(f.records[:n]) // what follows stays in the same array for a while
	f.records = f.records[n:]
	f.first += n
	f.forgotten = max(f.forgotten, f.first)
}

// whole reports how many records there are, once that is known.
func (f *feed) whole() (int64, bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.end(), errors.Is(f.ended, io.EOF)
}
