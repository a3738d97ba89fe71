package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// auditRun is one audit under way: it sends what is to be audited, takes what is
// told, and goes on from the newest checkpoint when the server goes away.
type auditRun struct {
	client *client
	kind   auditKind
	// start is the first request.
	start proto.Message
	// feed has the records; nil where the server has them.
	feed *feed
	out  *auditOutput
	bad  *badRecords
	line *progress
	// retry is how long the server may be away.
	retry time.Duration
	// words are what the command line calls the fields of the request.
	words map[string]string

	state      *checkpoint // the newest that is whole; nil before the first
	gathered   checkpoint  // of which parts are coming
	received   int64       // index of the next result
	counted    int64       // results that are counted: more than received after going on
	unaccepted int64       // of those that are counted
	places     placeList   // of the results that are counted
	done       audited
	reportEnds bool
}

// run audits to the end. The error is a *failure.
func (r *auditRun) run(ctx context.Context) (*audited, error) {
	defer func() {
		if r.feed != nil {
			r.feed.stop()
		}
	}()
	server := &retrying{
		client: r.client, limit: r.retry, place: place{words: r.words}, say: r.line.say, waits: r.line.wait,
		far: func() int64 { return r.counted }, unit: "result",
	}
	err := server.run(ctx, func(ctx context.Context, again bool) error { return r.attempt(ctx, server, again) })
	if err != nil {
		return nil, err
	}
	return &r.done, nil
}

// attempt audits from the newest checkpoint on, until the end or until the server
// goes away. The error is that of the stream, or a *failure.
func (r *auditRun) attempt(ctx context.Context, server *retrying, again bool) error {
	if err := server.reach(ctx); err != nil {
		return err
	}
	if err := r.rewind(); err != nil {
		return err
	}
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	stream, err := openAudit(ctx, r.client, r.kind)
	if err != nil {
		return err
	}
	sent := make(chan struct{})
	go func(state *checkpoint) {
		defer close(sent)
		if err := r.send(ctx, stream, state); err != nil {
			cancel(err)
		}
	}(r.state) // which changes while records are sent
	defer func() {
		cancel(nil)
		<-sent // who sends next must be the only one
	}()
	for {
		event, err := stream.event()
		switch {
		case errors.Is(err, io.EOF):
			return r.ended()
		case err != nil && ctx.Err() != nil:
			return context.Cause(ctx) // that of who sends tells more
		case err != nil:
			return err
		}
		if again {
			again = false
			from := "from the beginning"
			if r.state != nil {
				from = "after " + phrase.Many(r.state.count, "record")
			}
			server.back(from)
		}
		if err := r.take(event); err != nil {
			return err
		}
	}
}

// rewind goes back to the newest checkpoint. Without one all begins anew, also
// what was written: what was known when the audit began may be more by now.
func (r *auditRun) rewind() error {
	r.gathered, r.done, r.reportEnds = checkpoint{}, audited{}, false
	r.received = r.state.records()
	if r.state == nil && r.counted > 0 {
		r.counted, r.unaccepted = 0, 0
		r.places = placeList{}
		return r.out.restart()
	}
	return nil
}

// send sends the start, the checkpoint to go on from, if any, and the records. Where the
// stream ended, it leaves it to who receives to find out why. The error is a
// *failure, or says that the call was given up.
func (r *auditRun) send(ctx context.Context, stream *auditStream, state *checkpoint) error {
	part := func(c *pb.AuditCheckpoint) proto.Message {
		if r.kind == auditStored {
			return &pb.AuditStoredSetupsRequest{Message: &pb.AuditStoredSetupsRequest_Checkpoint{Checkpoint: c}}
		}
		return &pb.AuditSetupsRequest{Message: &pb.AuditSetupsRequest_Checkpoint{Checkpoint: c}}
	}
	err := stream.SendMsg(r.start)
	if err == nil {
		err = state.each(func(c *pb.AuditCheckpoint) error { return stream.SendMsg(part(c)) })
	}
	for i := state.records(); err == nil && r.feed != nil; i++ {
		var message wire
		message, err = r.feed.take(ctx, i)
		var forgotten *forgottenError
		switch {
		case errors.Is(err, io.EOF):
			return stream.CloseSend()
		case errors.As(err, &forgotten):
			return &failure{code: exitServer, lines: []string{"snapgauge: cannot go on: " + forgotten.Error()}}
		case err != nil:
			return err
		}
		err = stream.SendMsg(message)
	}
	switch {
	case err == nil:
		return stream.CloseSend()
	case errors.Is(err, io.EOF):
		return nil
	}
	return err
}

// take takes one event.
func (r *auditRun) take(event *pb.AuditEvent) error {
	switch e := event.GetEvent().(type) {
	case *pb.AuditEvent_Results:
		for _, result := range e.Results.GetResults() {
			if err := r.result(result); err != nil {
				return err
			}
		}
		r.line.set(r.counted, r.unaccepted)
	case *pb.AuditEvent_Progress:
		r.line.setTotal(e.Progress.GetTotalCount())
	case *pb.AuditEvent_Checkpoint:
		r.gathered.add(e.Checkpoint)
		if !r.gathered.whole {
			return nil
		}
		if r.gathered.count > r.received {
			return r.wrong("a checkpoint covers records that it gave no result of")
		}
		state := r.gathered
		r.state = &state
		if r.feed != nil {
			r.feed.release(state.count)
		}
	case *pb.AuditEvent_Summary:
		r.done.summary = e.Summary
	case *pb.AuditEvent_Report:
		r.done.report = append(r.done.report, e.Report.GetPart()...)
		r.reportEnds = e.Report.GetLast()
	}
	return nil
}

// result takes the result of one record. After the server was lost, results come
// again that were counted.
func (r *auditRun) result(result *pb.AuditResult) error {
	if result.GetIndex() != r.received {
		return r.wrong(fmt.Sprintf("it gave result %d where %d was to come", result.GetIndex(), r.received))
	}
	r.received++
	if r.received <= r.counted {
		return nil
	}
	place := batch.Place{File: result.GetSetup()}
	if r.feed != nil {
		var ok bool
		if place, ok = r.feed.place(result.GetIndex()); !ok {
			return r.wrong("it gave a result of a record that was not sent")
		}
	}
	r.counted++
	if result.GetVerdict() != pb.Verdict_VERDICT_ACCEPT {
		r.unaccepted++
	}
	r.places.add(result.GetIndex(), place)
	plainly(result.GetError())
	r.bad.tell(place.String(), result)
	return r.out.write(result, place)
}

// ended looks whether the stream ended as it should.
func (r *auditRun) ended() error {
	summary := r.done.summary
	switch {
	case summary == nil:
		return r.wrong("it ended the stream without a summary")
	case r.kind != auditJoined && summary.GetRecordCount() != r.received:
		return r.wrong(fmt.Sprintf("its summary is of %d records where it gave %d results", summary.GetRecordCount(), r.received))
	case r.out.wants(auditReport) && !r.reportEnds:
		return r.wrong("it ended the stream without the whole report")
	case r.out.wants(auditSaved) && (r.state == nil || r.state.count != summary.GetRecordCount()):
		return r.wrong("it gave no state that covers all records")
	}
	if r.feed != nil {
		if all, known := r.feed.whole(); !known || all != r.received {
			return r.wrong("it ended the stream before the last record")
		}
	}
	r.done.state = r.state
	return nil
}

// wrong is an answer that the contract does not allow.
func (r *auditRun) wrong(what string) error {
	return explain(context.Background(), status.Error(codes.Internal, what), r.client, place{})
}
