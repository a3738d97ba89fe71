package server

import (
	"context"
	"errors"
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

// defaultCheckpointInterval is how many records lie between checkpoints, where the
// caller does not say.
const defaultCheckpointInterval = 10_000

// AuditSetups judges on all processors and answers in order. Of the records that
// it has taken in, no more than a few hundred wait, and no more than a few
// megabytes.
func (s *auditService) AuditSetups(stream grpc.BidiStreamingServer[pb.AuditSetupsRequest, pb.AuditSetupsResponse]) error {
	ctx := stream.Context()
	recv := untilStopping(s.stopping, stream.Recv)
	first, err := recv()
	switch {
	case errors.Is(err, io.EOF):
		return badField("message", reasonAuditOrder, "got nothing, wanted start")
	case err != nil:
		return err
	case first.GetStart() == nil:
		return badField("message", reasonAuditOrder, "got %s first, wanted start", messageOf(first))
	}
	var saved parts
	next, err := recv()
	for ; err == nil && next.GetCheckpoint() != nil; next, err = recv() {
		if err := saved.add(next.GetCheckpoint()); err != nil {
			return err
		}
	}
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	run, cursor, err := s.begin(ctx, "start.", first.GetStart(), &saved)
	if err != nil {
		return err
	}
	if cursor != "" {
		return badField("checkpoint", reasonCheckpoint, "it is of an audit of stored set-ups")
	}
	run.send = func(e *pb.AuditEvent) error { return stream.Send(&pb.AuditSetupsResponse{Event: e}) }
	var ended error
	if next == nil {
		ended = io.EOF
	}
	return run.drive(ctx, s.stopping, func(_ context.Context, give func(task) bool) error {
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
// cursor that was saved with it. Where in the request the options stand is said by
// at.
func (s *auditService) begin(ctx context.Context, at string, options *pb.AuditOptions, saved *parts) (*auditRun, string, error) {
	began := s.sheets.now()
	fresh, err := saved.none()
	if err != nil {
		return nil, "", err
	}
	if options = proto.CloneOf(options); options == nil {
		options = &pb.AuditOptions{}
	}
	var auditor *audit.Auditor
	var cursor string
	if fresh {
		switch known := options.GetKnownTime(); {
		case known == nil:
			options.KnownTime = timestamppb.New(began.UTC().Truncate(time.Microsecond))
		case known.AsTime().After(began):
			// What will be known by then would judge the later records only.
			return nil, "", badField(at+"known_time", reasonTimeInvalid, "got %s, wanted a time that has come",
				known.AsTime().Format(time.RFC3339))
		}
		auditor = audit.New(options, gauge.Version)
	} else {
		if auditor, cursor, err = saved.restore(); err != nil {
			return nil, "", err
		}
		if err := sameJudging(at, options, auditor.Options()); err != nil {
			return nil, "", err
		}
	}
	// What other replicas published before an audit began must be known here before
	// it is said that this is how things were known.
	if err := s.sheets.live.Level(ctx); err != nil {
		return nil, "", err
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
func sameJudging(at string, now, before *pb.AuditOptions) error {
	differ := func(field string) error {
		return badField(at+field, reasonCheckpoint, "it is not the one that the audit began with")
	}
	switch {
	case now.GetSpecRevision() != before.GetSpecRevision():
		return differ("spec_revision")
	case !proto.Equal(now.GetAsOfTime(), before.GetAsOfTime()):
		return differ("as_of_time")
	case now.GetKnownTime() != nil && !proto.Equal(now.GetKnownTime(), before.GetKnownTime()):
		return differ("known_time")
	case system(now.GetUnitSystem()) != system(before.GetUnitSystem()):
		return differ("unit_system")
	}
	return nil
}
