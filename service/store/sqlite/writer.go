package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"sync/atomic"

	"github.com/snapgauge/snapgauge/service/store/internal/row"
	"github.com/snapgauge/snapgauge/service/store/internal/wake"
)

// Bounds of one group: they keep the log and the wait of the first in the group
// small.
const (
	maxGroup      = 256
	maxGroupBytes = 8 << 20
)

// job is one write on its way through the writer.
type job struct {
	ctx  context.Context
	op   operation
	done chan result // holds one, so that the writer never waits
}

// operation is what a job does inside the group's transaction.
type operation interface {
	// size is about how many bytes it writes.
	size() int
	// do does it. A refusal is in the result and has written nothing; after an
	// error the transaction must be rolled back. It may be done again then.
	do(s *statements) (result, written, error)
}

// written is what an operation has written.
type written int

const (
	nothing written = iota
	aSetup
	aChange
	aDraft
)

// result is what became of a job.
type result struct {
	// earlier is the id under which the shop's request is stored already, or "".
	earlier string
	// same says that the earlier record has the same digest.
	same bool
	// change is what became of a change of specs.
	change changeResult
	// draft says that the draft is stored already, since when in microseconds.
	draft   bool
	updated int64
	// err is why nothing was stored, or why it is not known.
	err error
}

// changeResult is the part of a result that concerns specs.
type changeResult struct {
	// revision is the one that has the same content already, or nought.
	revision int64
	// position and recorded are those of the change that was made, or, of a
	// withdrawal, had been made before.
	position, recorded int64
}

// submission is the operation that stores a set-up.
type submission struct{ row row.Row }

func (o *submission) size() int { return len(o.row.Record) + len(o.row.Report) }

func (o *submission) do(s *statements) (result, written, error) {
	res, err := s.store(&o.row)
	if err != nil || res != (result{}) {
		return res, nothing, err
	}
	return res, aSetup, nil
}

// writer owns the only connection that writes.
type writer struct {
	jobs    chan *job
	quit    chan struct{} // closed when no more jobs can come
	stopped chan struct{} // closed when the goroutine has ended

	db    *sql.DB
	conn  *sql.Conn
	stmts *statements
	hub   wake.Hub // woken after every commit with a change of specs

	rows   atomic.Int64 // set-ups stored
	groups atomic.Int64 // transactions committed with at least one of them
}

// newWriter starts the goroutine. The writer closes db when it is closed itself.
func newWriter(ctx context.Context, db *sql.DB) (*writer, error) {
	conn, err := db.Conn(ctx)
	if err != nil {
		return nil, err
	}
	stmts, err := prepare(ctx, conn)
	if err != nil {
		return nil, errors.Join(err, conn.Close())
	}
	w := &writer{
		jobs: make(chan *job), quit: make(chan struct{}), stopped: make(chan struct{}),
		db: db, conn: conn, stmts: stmts,
	}
	go w.run()
	return w, nil
}

// close ends the goroutine and closes the connection. No submit may be waiting.
func (w *writer) close() error {
	close(w.quit)
	<-w.stopped
	return errors.Join(w.stmts.close(), w.conn.Close(), w.db.Close())
}

// do hands an operation to the goroutine and waits for what becomes of it. The
// operation belongs to the goroutine from then on.
func (w *writer) do(ctx context.Context, op operation) result {
	j := &job{ctx: ctx, op: op, done: make(chan result, 1)}
	select {
	case w.jobs <- j:
	case <-ctx.Done():
		return result{err: ctx.Err()}
	}
	select {
	case res := <-j.done:
		return res
	case <-ctx.Done():
		return result{err: ctx.Err()}
	}
}

func (w *writer) run() {
	defer close(w.stopped)
	var group []*job
	for {
		select {
		case j := <-w.jobs:
			group = w.gather(append(group[:0], j))
			w.commit(group)
			clear(group) // let go of what was stored
		case <-w.quit:
			return
		}
	}
}

// gather adds the jobs that are waiting now.
func (w *writer) gather(group []*job) []*job {
	size := group[0].op.size()
	for len(group) < maxGroup && size < maxGroupBytes {
		select {
		case j := <-w.jobs:
			group = append(group, j)
			size += j.op.size()
		default:
			return group
		}
	}
	return group
}

// commit stores a group and answers every job in it.
func (w *writer) commit(group []*job) {
	results, retry, err := w.transaction(group)
	switch {
	case err == nil:
	case retry && len(group) > 1:
		for _, j := range group {
			w.commit([]*job{j})
		}
		return
	default:
		results = make([]result, len(group))
		for i := range results {
			results[i].err = err
		}
	}
	for i, j := range group {
		j.done <- results[i]
	}
}

// transaction stores a group in one transaction. With an error nothing of it is
// known to be stored; retry says that nothing is, for certain.
func (w *writer) transaction(group []*job) (results []result, retry bool, err error) {
	// Statements run without a context: a job that is given up must not stop
	// those beside it.
	if err := w.stmts.begin(); err != nil {
		return nil, false, fmt.Errorf("begin: %w", err)
	}
	results = make([]result, len(group))
	var count [aDraft + 1]int
	for i, j := range group {
		if results[i].err = j.ctx.Err(); results[i].err != nil {
			continue // nobody waits for it any more
		}
		var did written
		if results[i], did, err = j.op.do(w.stmts); err != nil {
			return nil, true, errors.Join(err, w.stmts.rollback())
		}
		count[did]++
	}
	if err := w.stmts.commit(); err != nil {
		return nil, false, errors.Join(fmt.Errorf("commit: %w", err), w.stmts.rollback())
	}
	if count[aSetup] > 0 {
		w.rows.Add(int64(count[aSetup]))
		w.groups.Add(1)
	}
	if count[aChange] > 0 {
		w.hub.Wake()
	}
	return results, false, nil
}
