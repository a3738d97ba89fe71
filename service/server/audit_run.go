package server

import (
	"bytes"
	"context"
	"fmt"
	"sync"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/audit"
	"github.com/snapgauge/snapgauge/service/auditreport"
)

const (
	// mostWaiting is how many records are taken in before the first of them is
	// answered.
	mostWaiting = 256
	// mostResults is how many results travel together; fewer when no record has
	// come for resultPause, so that a caller who waits for an answer gets it.
	mostResults = 64
	resultPause = 2 * time.Millisecond
	// progressPause is how often an audit tells how far it is.
	progressPause = time.Second
)

// auditRun is one audit under way.
type auditRun struct {
	auditor  *audit.Auditor
	judge    *auditJudge
	metrics  *metrics
	interval int64 // records between checkpoints
	html     bool
	workers  int
	send     func(*pb.AuditEvent) error
	total    int64
}

// drive takes tasks from feed, judges them on all workers and answers them in
// their order, until feed ends; then it tells the summary. feed is called in a
// goroutine of its own, which may still run when drive returns early: give tells it
// then that no more is wanted.
//
// Where the service has to stop, a last checkpoint is sent first.
func (r *auditRun) drive(ctx context.Context, stopping <-chan struct{}, feed func(give func(task) bool) error) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var (
		work    = make(chan *task, mostWaiting)
		ordered = make(chan *task, mostWaiting)
		fed     error // set before ordered is closed
		judges  sync.WaitGroup
	)
	defer judges.Wait()
	defer cancel() // before the wait
	for range r.workers {
		judges.Go(func() {
			for {
				select {
				case t, more := <-work:
					if !more {
						return
					}
					r.judge.judge(ctx, t)
					close(t.done)
				case <-ctx.Done():
					return
				}
			}
		})
	}
	go func() {
		defer close(ordered)
		defer close(work)
		defer catch(&fed)
		fed = feed(func(t task) bool {
			t.done = make(chan struct{})
			for _, to := range []chan<- *task{ordered, work} {
				select {
				case to <- &t:
				case <-ctx.Done():
					return false
				}
			}
			return true
		})
	}()
	cursor, err := r.answer(ctx, stopping, ordered)
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case err == nil && fed == nil:
		return r.finish(cursor)
	case err == nil:
		err = fed
	}
	_ = r.checkpoint(cursor) // why the audit ends matters more
	return err
}

// answer adds the tasks to the audit in their order and sends their results. It
// gives the cursor after the last that was answered. An error is why the audit
// cannot go on; what was answered until then stands.
func (r *auditRun) answer(ctx context.Context, stopping <-chan struct{}, ordered <-chan *task) (cursor string, err error) {
	var results []*pb.AuditResult
	flush := func() error {
		if len(results) == 0 {
			return nil
		}
		err := r.send(&pb.AuditEvent{Event: &pb.AuditEvent_Results{Results: &pb.AuditResults{Results: results}}})
		results = nil
		return err
	}
	told := time.Now()
	pause := time.NewTimer(resultPause)
	defer pause.Stop()
	for {
		var t *task
		var more bool
		select {
		case t, more = <-ordered:
		default:
			pause.Reset(resultPause)
			select {
			case t, more = <-ordered:
			case <-pause.C:
				if err := flush(); err != nil {
					return cursor, err
				}
				select {
				case t, more = <-ordered:
				case <-stopping:
					return cursor, errStopping
				case <-ctx.Done():
					return cursor, ctx.Err()
				}
			}
		}
		if !more {
			return cursor, flush()
		}
		select {
		case <-t.done:
		case <-ctx.Done():
			return cursor, ctx.Err()
		}
		select {
		case <-stopping:
			t.err = errStopping
		default:
		}
		if t.err != nil {
			return cursor, firstOf(flush(), t.err)
		}
		if r.metrics != nil && t.entry.Report() != nil {
			r.metrics.judged(t.entry.Report())
		}
		results = append(results, r.auditor.Add(t.entry))
		cursor = t.cursor
		if len(results) >= mostResults {
			if err := flush(); err != nil {
				return cursor, err
			}
		}
		if r.auditor.Count()%r.interval == 0 {
			if err := firstOf(flush(), r.checkpoint(cursor)); err != nil {
				return cursor, err
			}
		}
		if now := time.Now(); now.Sub(told) >= progressPause {
			told = now
			if err := firstOf(flush(), r.progress()); err != nil {
				return cursor, err
			}
		}
	}
}

func firstOf(a, b error) error {
	if a != nil {
		return a
	}
	return b
}

func (r *auditRun) progress() error {
	return r.send(&pb.AuditEvent{Event: &pb.AuditEvent_Progress{Progress: &pb.AuditProgress{
		RecordCount: r.auditor.Count(), TotalCount: r.total,
	}}})
}

// checkpoint sends the state of the audit, in parts.
func (r *auditRun) checkpoint(cursor string) error {
	state, err := r.auditor.Save(cursor)
	if err != nil {
		return fmt.Errorf("checkpoint: %w", err)
	}
	return inParts(state, func(part []byte, last bool) error {
		return r.send(&pb.AuditEvent{Event: &pb.AuditEvent_Checkpoint{Checkpoint: &pb.AuditCheckpoint{
			RecordCount: r.auditor.Count(), Part: part, Last: last,
		}}})
	})
}

// finish tells what shows over all records: the last checkpoint, the summary, and
// the report where it is wanted.
func (r *auditRun) finish(cursor string) error {
	if err := r.checkpoint(cursor); err != nil {
		return err
	}
	summary := r.auditor.Summary()
	if err := r.send(&pb.AuditEvent{Event: &pb.AuditEvent_Summary{Summary: summary}}); err != nil {
		return err
	}
	if !r.html {
		return nil
	}
	var page bytes.Buffer
	if err := auditreport.HTML(&page, summary); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	return inParts(page.Bytes(), func(part []byte, last bool) error {
		return r.send(&pb.AuditEvent{Event: &pb.AuditEvent_Report{Report: &pb.AuditReportPart{
			Part: part, MediaType: "text/html; charset=utf-8", Last: last,
		}}})
	})
}

// inParts gives data in pieces that a message can hold; at least one.
func inParts(data []byte, each func(part []byte, last bool) error) error {
	for {
		n := min(len(data), checkpointPart)
		if err := each(data[:n], n == len(data)); err != nil {
			return err
		}
		if data = data[n:]; len(data) == 0 {
			return nil
		}
	}
}
