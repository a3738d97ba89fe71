package server

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/audit"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/filter"
)

// auditService implements [pb.AuditServiceServer]. Requests have passed the
// validator, but for records: those are the judges' to check.
type auditService struct {
	pb.UnimplementedAuditServiceServer
	sheets   *sheets
	store    store.Store
	check    validator
	metrics  *metrics
	stopping <-chan struct{}
}

const (
	// checkpointPart is how much of one travels in a message.
	checkpointPart = 1 << 20
	// defaultCheckpointInterval is how many records lie between checkpoints, where
	// the caller does not say.
	defaultCheckpointInterval = 10_000
)

// AuditSetups judges on all processors and answers in order. Of the records that
// it has taken in, no more than a few hundred wait.
func (s *auditService) AuditSetups(stream grpc.BidiStreamingServer[pb.AuditSetupsRequest, pb.AuditSetupsResponse]) error {
	ctx := stream.Context()
	first, err := stream.Recv()
	switch {
	case errors.Is(err, io.EOF):
		return badField("message", reasonAuditOrder, "got nothing, wanted start")
	case err != nil:
		return err
	case first.GetStart() == nil:
		return badField("message", reasonAuditOrder, "got %s first, wanted start", messageOf(first))
	}
	var saved parts
	next, err := stream.Recv()
	for ; err == nil && next.GetCheckpoint() != nil; next, err = stream.Recv() {
		if err := saved.add(next.GetCheckpoint()); err != nil {
			return err
		}
	}
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	run, _, err := s.begin(ctx, first.GetStart(), &saved)
	if err != nil {
		return err
	}
	run.send = func(e *pb.AuditEvent) error { return stream.Send(&pb.AuditSetupsResponse{Event: e}) }
	var ended error
	if next == nil {
		ended = io.EOF
	}
	return run.drive(ctx, s.stopping, func(give func(task) bool) error {
		for request := next; ended == nil; request, ended = stream.Recv() {
			t, err := taskOf(request)
			if err != nil {
				return err
			}
			if !give(t) {
				return nil
			}
		}
		if errors.Is(ended, io.EOF) {
			return nil
		}
		return ended
	})
}

// taskOf is what a request of a running audit asks.
func taskOf(request *pb.AuditSetupsRequest) (task, error) {
	switch m := request.GetMessage().(type) {
	case *pb.AuditSetupsRequest_Record:
		return task{record: m.Record}, nil
	case *pb.AuditSetupsRequest_Unreadable:
		return task{unreadable: m.Unreadable}, nil
	}
	return task{}, badField("message", reasonAuditOrder, "got %s, wanted record or unreadable", messageOf(request))
}

// messageOf names what a request sends.
func messageOf(request *pb.AuditSetupsRequest) string {
	m := request.ProtoReflect()
	if field := m.WhichOneof(m.Descriptor().Oneofs().ByName("message")); field != nil {
		return string(field.Name())
	}
	return "nothing"
}

// begin makes ready an audit, from a checkpoint where there is one, and gives the
// cursor that was saved with it.
func (s *auditService) begin(ctx context.Context, options *pb.AuditOptions, saved *parts) (*auditRun, string, error) {
	began := s.sheets.now()
	checkpoint, err := saved.whole()
	if err != nil {
		return nil, "", err
	}
	var auditor *audit.Auditor
	var cursor string
	if checkpoint != nil {
		if auditor, cursor, err = audit.Restore(checkpoint, gauge.Version); err != nil {
			return nil, "", err
		}
		if saved.count != auditor.Count() {
			return nil, "", badField("checkpoint.record_count", reasonCheckpoint,
				"got %d, and the state covers %d", saved.count, auditor.Count())
		}
		if err := sameJudging(options, auditor.Options()); err != nil {
			return nil, "", err
		}
	} else {
		// What other replicas published before now must be known here before it is
		// said that this is how things were known.
		if err := s.sheets.live.Level(ctx); err != nil {
			return nil, "", err
		}
		if options = proto.CloneOf(options); options == nil {
			options = &pb.AuditOptions{}
		}
		if options.GetKnownTime() == nil {
			options.KnownTime = timestamppb.New(began.UTC().Truncate(time.Microsecond))
		}
		auditor = audit.New(options, gauge.Version)
	}
	judge := &auditJudge{
		sheets: s.sheets, check: s.check, options: auditor.Options(),
		units: system(options.GetUnitSystem()),
	}
	if name := judge.options.GetSpecRevision(); name != "" {
		specID, number, err := parseSpecName(name)
		if err != nil {
			return nil, "", err
		}
		if err := s.sheets.current(ctx, specID); err != nil {
			return nil, "", err
		}
		if judge.engine, err = s.sheets.live.Engine(ctx, specID, number); err != nil {
			return nil, "", err
		}
	}
	interval := int64(options.GetCheckpointInterval())
	if interval == 0 {
		interval = defaultCheckpointInterval
	}
	return &auditRun{
		auditor: auditor, judge: judge, metrics: s.metrics, interval: interval,
		html: options.GetHtmlReport(), workers: runtime.GOMAXPROCS(0),
	}, cursor, nil
}

// sameJudging refuses options under which an audit that goes on would judge
// otherwise than it did. A known time may be left out: it is the one that the audit
// began with.
func sameJudging(now, before *pb.AuditOptions) error {
	differ := func(field string) error {
		return badField("start."+field, reasonCheckpoint, "it is not the one that the audit began with")
	}
	switch {
	case now.GetSpecRevision() != before.GetSpecRevision():
		return differ("spec_revision")
	case !proto.Equal(now.GetAsOfTime(), before.GetAsOfTime()):
		return differ("as_of_time")
	case now.GetKnownTime() != nil && !proto.Equal(now.GetKnownTime(), before.GetKnownTime()):
		return differ("known_time")
	case now.GetUnitSystem() != before.GetUnitSystem():
		return differ("unit_system")
	}
	return nil
}

// parts gathers a checkpoint.
type parts struct {
	data  []byte
	count int64
	done  bool
}

func (p *parts) add(part *pb.AuditCheckpoint) error {
	switch {
	case p.done:
		return badField("checkpoint", reasonCheckpoint, "got a part after the last one")
	case len(p.data) > 0 && part.GetRecordCount() != p.count:
		return badField("checkpoint.record_count", reasonCheckpoint, "got %d, wanted %d as in the part before", part.GetRecordCount(), p.count)
	case len(p.data)+len(part.GetPart()) > audit.MaxCheckpoint:
		return badField("checkpoint.part", reasonCheckpoint, "got more than %d bytes in all", audit.MaxCheckpoint)
	}
	p.data = append(p.data, part.GetPart()...)
	p.count, p.done = part.GetRecordCount(), part.GetLast()
	return nil
}

// whole gives the checkpoint, nil where there is none.
func (p *parts) whole() ([]byte, error) {
	if !p.done && (len(p.data) > 0 || p.count > 0) {
		return nil, badField("checkpoint", reasonCheckpoint, "its last part is missing")
	}
	if !p.done {
		return nil, nil
	}
	if p.data == nil {
		return []byte{}, nil
	}
	return p.data, nil
}

// JoinAudits holds two audits at a time.
func (s *auditService) JoinAudits(stream grpc.BidiStreamingServer[pb.JoinAuditsRequest, pb.JoinAuditsResponse]) error {
	var (
		joined *audit.Auditor
		html   bool
		saved  parts
		first  = true
	)
	for {
		request, err := stream.Recv()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		if first {
			html, first = request.GetHtmlReport(), false
		}
		if err := saved.add(request.GetCheckpoint()); err != nil {
			return err
		}
		if !saved.done {
			continue
		}
		one, _, err := audit.Restore(saved.data, gauge.Version)
		if err != nil {
			return err
		}
		saved = parts{}
		if joined == nil {
			joined = one
		} else if err := joined.Join(one); err != nil {
			return err
		}
	}
	if _, err := saved.whole(); err != nil {
		return err
	}
	if joined == nil {
		return badField("checkpoint", reasonCheckpoint, "got none, wanted the checkpoints to join")
	}
	run := &auditRun{auditor: joined, html: html, send: func(e *pb.AuditEvent) error {
		return stream.Send(&pb.JoinAuditsResponse{Event: e})
	}}
	return run.finish("")
}

// AuditStoredSetups reads a page ahead of what is judged.
func (s *auditService) AuditStoredSetups(stream grpc.BidiStreamingServer[pb.AuditStoredSetupsRequest, pb.AuditStoredSetupsResponse]) error {
	ctx := stream.Context()
	var (
		start *pb.AuditStoredStart
		saved parts
	)
	for {
		request, err := stream.Recv()
		if errors.Is(err, io.EOF) {
			break
		}
		switch {
		case err != nil:
			return err
		case (start == nil) != (request.GetStart() != nil):
			return badField("message", reasonAuditOrder, "wanted start first, and once")
		case start == nil:
			start = request.GetStart()
		default:
			if err := saved.add(request.GetCheckpoint()); err != nil {
				return err
			}
		}
	}
	if start == nil {
		return badField("message", reasonAuditOrder, "got nothing, wanted start")
	}
	chosen, err := storedFilter(start)
	if err != nil {
		return err
	}
	run, cursor, err := s.begin(ctx, start.GetOptions(), &saved)
	if err != nil {
		return err
	}
	after, err := store.DecodeToken(cursor, chosen)
	if err != nil {
		return badField("start.filter", reasonCheckpoint, "it is not the one that the audit began with")
	}
	if saved.done && cursor == "" && run.auditor.Count() > 0 {
		return badField("checkpoint", reasonCheckpoint, "it is of no audit of stored set-ups, or of one that was whole")
	}
	run.send = func(e *pb.AuditEvent) error { return stream.Send(&pb.AuditStoredSetupsResponse{Event: e}) }
	return run.drive(ctx, s.stopping, func(give func(task) bool) error {
		return s.eachStored(ctx, chosen, after, start.GetIncludeSuperseded(), give)
	})
}

// eachStored gives the stored set-ups that a filter chooses, newest first.
func (s *auditService) eachStored(ctx context.Context, chosen store.Expr, after store.Cursor, superseded bool, give func(task) bool) error {
	for {
		page, cancel := context.WithTimeout(ctx, callTimeout)
		stored, next, err := s.store.List(page, store.Query{Filter: chosen, After: after, Limit: storedPage})
		cancel()
		if errors.Is(err, store.ErrInvalidQuery) {
			return badField("filter", reasonFilterInvalid, "%v", err)
		}
		if err != nil {
			return fmt.Errorf("stored set-ups: %w", err)
		}
		for _, one := range stored {
			if one.SupersededBy != "" && !superseded {
				continue
			}
			cursor := store.EncodeToken(store.CursorAfter(one.CreateTime, one.ID), chosen)
			if !give(task{record: one.Record, setup: store.Name(one.ID), then: one.Report.GetVerdict(), cursor: cursor}) {
				return nil
			}
		}
		if next.IsZero() {
			return nil
		}
		after = next
	}
}

// storedPage is how many stored set-ups are read at once.
const storedPage = 64

// storedFilter is what an audit of stored set-ups looks at. Judged by one revision,
// set-ups of other specs are never looked at.
func storedFilter(start *pb.AuditStoredStart) (store.Expr, error) {
	chosen, err := parseFilter(filter.Setups, "start.filter", start.GetFilter())
	if err != nil {
		return nil, err
	}
	name := start.GetOptions().GetSpecRevision()
	if name == "" {
		return chosen, nil
	}
	specID, _, err := parseSpecName(name)
	if err != nil {
		return nil, err
	}
	all := store.And{store.JudgedBy(specID, 0)}
	if chosen != nil {
		all = append(all, chosen)
	}
	return all, nil
}
