package server

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"golang.org/x/sync/semaphore"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/audit"
	"github.com/snapgauge/snapgauge/service/auditreport"
)

const (
	// mostWaiting is how many records are taken in before the first of them is
	// answered.
	mostWaiting = 256
	// mostWaitingBytes is what they may measure as they were sent. In memory it is a
	// few times that.
	mostWaitingBytes = 2 * maxReceiveBytes
	// mostResults is how many results travel together, and mostResultBytes what they
	// may measure but for the last; fewer when no record has come, or was judged, for
	// resultPause, so that a caller who waits for an answer gets it.
	mostResults     = 64
	mostResultBytes = 512 << 10
	resultPause     = 2 * time.Millisecond
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
	cursor   string // where reading goes on after what was answered
	saved    int64  // one more than the records that the last checkpoint covers
	send     func(*pb.AuditEvent) error
}

// drive takes tasks from feed, judges them on all workers and answers them in
// their order, until feed ends; then it tells the summary. feed is called in a
// goroutine of its own, which may still run when drive returns early: its context
// has ended then, and give tells it that no more is wanted.
//
// Where the service has to stop, a last checkpoint is sent first.
func (r *auditRun) drive(ctx context.Context, stopping <-chan struct{}, feed func(ctx context.Context, give func(task) bool) error) error {
	r.metrics.audits.Inc()
	defer r.metrics.audits.Dec()
	first := r.auditor.Count()
	defer func() { remark(ctx, slog.Int64("records", r.auditor.Count()-first)) }()
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var (
		work    = make(chan *task, mostWaiting)
		ordered = make(chan *task, mostWaiting)
		fed     error // set before ordered is closed
		room    = semaphore.NewWeighted(mostWaitingBytes)
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
		fed = feed(ctx, func(t task) bool {
			t.done = make(chan struct{})
			t.weight = min(int64(proto.Size(t.record)+proto.Size(t.unreadable)), mostWaitingBytes)
			if room.Acquire(ctx, t.weight) != nil {
				return false
			}
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
	err := r.answer(ctx, stopping, ordered, room)
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case err == nil && fed == nil:
		return r.finish()
	case err == nil:
		err = fed
	}
	_ = r.checkpoint() // why the audit ends matters more
	return err
}

// answer adds the tasks to the audit in their order and sends their results. An
// error is why the audit cannot go on; what was answered until then stands.
func (r *auditRun) answer(ctx context.Context, stopping <-chan struct{}, ordered <-chan *task, room *semaphore.Weighted) error {
	var results []*pb.AuditResult
	size := 0
	flush := func() error {
		if len(results) == 0 {
			return nil
		}
		err := r.send(&pb.AuditEvent{Event: &pb.AuditEvent_Results{Results: &pb.AuditResults{Results: results}}})
		results, size = nil, 0
		return err
	}
	told := time.Now()
	pause := time.NewTimer(resultPause)
	defer pause.Stop()
	for {
		t, more, err := await(ctx, stopping, ordered, pause, flush)
		if err != nil {
			return err
		}
		if !more {
			return flush()
		}
		if _, _, err := await(ctx, stopping, t.done, pause, flush); err != nil {
			return err
		}
		select {
		case <-stopping:
			return firstOf(flush(), errStopping)
		default:
		}
		if t.err != nil {
			return firstOf(flush(), t.err)
		}
		r.metrics.audited(t.entry)
		result := r.auditor.Add(t.entry)
		r.cursor = t.cursor
		room.Release(t.weight)
		results, size = append(results, result), size+proto.Size(result)
		if len(results) >= mostResults || size >= mostResultBytes {
			if err := flush(); err != nil {
				return err
			}
		}
		if r.auditor.Count()%r.interval == 0 {
			if err := firstOf(flush(), r.checkpoint()); err != nil {
				return err
			}
		}
		if now := time.Now(); now.Sub(told) >= progressPause {
			told = now
			if err := firstOf(flush(), r.progress()); err != nil {
				return err
			}
		}
	}
}

// await receives from a channel. When that takes longer than a pause, what waits to
// be sent is sent meanwhile.
func await[T any](ctx context.Context, stopping <-chan struct{}, from <-chan T, pause *time.Timer, flush func() error) (value T, more bool, err error) {
	select {
	case value, more = <-from:
		return value, more, nil
	default:
	}
	pause.Reset(resultPause)
	select {
	case value, more = <-from:
		return value, more, nil
	case <-pause.C:
	}
	if err := flush(); err != nil {
		return value, false, err
	}
	select {
	case value, more = <-from:
		return value, more, nil
	case <-stopping:
		return value, false, errStopping
	case <-ctx.Done():
		return value, false, ctx.Err()
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
		RecordCount: r.auditor.Count(),
	}}})
}

// checkpoint sends the state of the audit, in parts, unless it was sent already.
func (r *auditRun) checkpoint() error {
	if r.saved == r.auditor.Count()+1 {
		return nil
	}
	state, err := r.auditor.Save(r.cursor)
	if err != nil {
		return fmt.Errorf("checkpoint: %w", err)
	}
	err = inParts(state, func(part []byte, last bool) error {
		return r.send(&pb.AuditEvent{Event: &pb.AuditEvent_Checkpoint{Checkpoint: &pb.AuditCheckpoint{
			RecordCount: r.auditor.Count(), Part: part, Last: last,
		}}})
	})
	if err == nil {
		r.saved = r.auditor.Count() + 1
	}
	return err
}

// finish tells what shows over all records: the last checkpoint, the summary, and
// the report where it is wanted.
func (r *auditRun) finish() error {
	if err := r.checkpoint(); err != nil {
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
