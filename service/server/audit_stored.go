package server

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"sync"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/filter"
)

// AuditStoredSetups reads a page ahead of what is judged.
func (s *auditService) AuditStoredSetups(stream grpc.BidiStreamingServer[pb.AuditStoredSetupsRequest, pb.AuditStoredSetupsResponse]) error {
	ctx := stream.Context()
	var (
		start *pb.AuditStoredStart
		saved parts
	)
	recv := untilStopping(s.stopping, stream.Recv)
	for {
		request, err := recv()
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
	reading := &storedReading{store: s.store}
	var err error
	if reading.filter, err = storedFilter(start); err != nil {
		return err
	}
	run, cursor, err := s.begin(ctx, "start.options.", start.GetOptions(), &saved)
	if err != nil {
		return err
	}
	if saved.done {
		err = reading.goOn(cursor, start.GetIncludeSuperseded())
	} else {
		err = reading.begin(ctx, s.sheets.now(), start.GetIncludeSuperseded())
	}
	if err != nil {
		return err
	}
	run.cursor = reading.cursor()
	run.send = func(e *pb.AuditEvent) error { return stream.Send(&pb.AuditStoredSetupsResponse{Event: e}) }
	var using sync.WaitGroup // the store, which may be closed after the call
	using.Add(1)
	defer using.Wait()
	return run.drive(ctx, s.stopping, func(ctx context.Context, give func(task) bool) error {
		defer using.Done()
		return reading.each(ctx, give)
	})
}

// storedReading reads what an audit of stored set-ups looks at, newest first.
// Whatever is stored or corrected while it reads, it gives the same.
type storedReading struct {
	store      store.Store
	filter     store.Expr
	superseded bool         // corrected set-ups too
	began      time.Time    // what was stored later is not looked at
	after      store.Cursor // the set-up that was given last
}

// begin is now, or when the newest set-up was stored, by another clock.
func (s *storedReading) begin(ctx context.Context, now time.Time, superseded bool) error {
	s.began, s.superseded = now.UTC().Truncate(time.Microsecond), superseded
	newest, _, err := s.list(ctx, store.Query{Limit: 1, Basic: true})
	if len(newest) > 0 && newest[0].CreateTime.After(s.began) {
		s.began = newest[0].CreateTime
	}
	return err
}

// storedCursor begins the cursor of an audit of stored set-ups; one of records that
// were sent is empty.
const storedCursor = "stored"

// cursor is where to go on after what was given.
func (s *storedReading) cursor() string {
	return strings.Join([]string{
		storedCursor, strconv.FormatInt(s.began.UnixMicro(), 10), strconv.FormatBool(s.superseded), store.EncodeToken(s.after, s.filter),
	}, " ")
}

// goOn goes to where an audit stood.
func (s *storedReading) goOn(cursor string, superseded bool) error {
	part := strings.Split(cursor, " ")
	if len(part) != 4 || part[0] != storedCursor {
		return badField("checkpoint", reasonCheckpoint, "it is of no audit of stored set-ups")
	}
	micros, err := strconv.ParseInt(part[1], 10, 64)
	if err != nil {
		return badField("checkpoint", reasonCheckpoint, "its place cannot be read")
	}
	s.began, s.superseded = time.UnixMicro(micros).UTC(), superseded
	if part[2] != strconv.FormatBool(superseded) {
		return badField("start.include_superseded", reasonCheckpoint, "it is not as the audit began")
	}
	if s.after, err = store.DecodeToken(part[3], s.filter); err != nil {
		return badField("start.filter", reasonCheckpoint, "it is not the one that the audit began with")
	}
	return nil
}

func (s *storedReading) list(ctx context.Context, q store.Query) ([]store.Setup, store.Cursor, error) {
	ctx, cancel := context.WithTimeout(ctx, callTimeout)
	defer cancel()
	q.Filter = s.filter
	stored, next, err := s.store.List(ctx, q)
	if errors.Is(err, store.ErrInvalidQuery) {
		return nil, next, badField("start.filter", reasonFilterInvalid, "%v", err)
	}
	if err != nil {
		return nil, next, fmt.Errorf("stored set-ups: %w", err)
	}
	return stored, next, nil
}

// Stored set-ups are read a few at a time, and more where they are small, so that
// a page is of about so many bytes.
const (
	storedPageBytes = 1 << 20
	mostStoredPage  = 64
)

// each gives the set-ups that are left.
func (s *storedReading) each(ctx context.Context, give func(task) bool) error {
	page := firstStep
	for from := s.after; ; {
		stored, next, err := s.list(ctx, store.Query{After: from, Limit: page})
		if err != nil {
			return err
		}
		size := 0
		for _, one := range stored {
			size += proto.Size(one.Record) + proto.Size(one.Report)
			if one.CreateTime.After(s.began) {
				continue
			}
			if hidden, err := s.hidden(ctx, one); err != nil {
				return err
			} else if hidden {
				continue
			}
			s.after = store.CursorAfter(one.CreateTime, one.ID)
			if !give(task{record: one.Record, setup: store.Name(one.ID), then: one.Report.GetVerdict(), cursor: s.cursor()}) {
				return nil
			}
		}
		if next.IsZero() {
			return nil
		}
		from = next
		page = max(1, min(mostStoredPage, storedPageBytes*len(stored)/max(1, size)))
	}
}

// hidden reports whether a set-up was corrected before the audit began, and is left
// out for that. Where it was later, the correction is left out instead.
func (s *storedReading) hidden(ctx context.Context, one store.Setup) (bool, error) {
	if one.SupersededBy == "" || s.superseded {
		return false, nil
	}
	ctx, cancel := context.WithTimeout(ctx, callTimeout)
	defer cancel()
	correction, err := s.store.Get(ctx, one.SupersededBy)
	if err != nil {
		return false, fmt.Errorf("the correction of a stored set-up: %w", err)
	}
	return !correction.CreateTime.After(s.began), nil
}

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
