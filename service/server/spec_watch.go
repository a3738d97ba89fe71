package server

import (
	"context"
	"errors"
	"fmt"

	"google.golang.org/grpc"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/store"
)

// errStopping ends streams when the service shuts down.
var errStopping = fmt.Errorf("a stream: %w", store.ErrClosed)

// WatchSpecs sends changes as they were made: a revision that was withdrawn later
// is shown first as it was published. So the stream from one token is always the
// same, as far as it goes. Nothing is sent faster than the caller takes it, and
// while it does not, no more than a page of changes waits.
//
// The stream ends with the caller, or with UNAVAILABLE when the service shuts
// down: going on from the last token elsewhere misses nothing.
func (s *specService) WatchSpecs(req *pb.WatchSpecsRequest, stream grpc.ServerStreamingServer[pb.WatchSpecsResponse]) error {
	ctx, cancel := context.WithCancelCause(stream.Context())
	defer cancel(nil)
	go func() {
		select {
		case <-s.stopping:
			cancel(errStopping)
		case <-ctx.Done():
		}
	}()
	err := s.watch(ctx, req, stream)
	if errors.Is(context.Cause(ctx), store.ErrClosed) {
		return errStopping
	}
	return err
}

// watch sends changes until ctx ends or sending fails.
func (s *specService) watch(ctx context.Context, req *pb.WatchSpecsRequest, stream grpc.ServerStreamingServer[pb.WatchSpecsResponse]) error {
	after, err := s.resume(ctx, req.GetResumeToken())
	if err != nil {
		return err
	}
	// Changes are rare: who waits for the next is to know that the token was taken.
	if err := stream.SendHeader(nil); err != nil {
		return err
	}
	for change, err := range s.sheets.live.Watch(ctx, after) {
		if err != nil {
			return err
		}
		resp, err := s.changed(ctx, change, req.GetIncludeSheets())
		if err != nil {
			return err
		}
		if resp == nil {
			continue
		}
		if err := stream.Send(resp); err != nil {
			return err
		}
	}
	return nil
}

// resume gives the position after which a token goes on. It asks the store
// whether the change that the token was given for is still the one there.
func (s *specService) resume(ctx context.Context, token string) (int64, error) {
	point, err := decodeResumeToken(token)
	if err != nil {
		return 0, badField("resume_token", reasonResumeToken, "%v", err)
	}
	if point.position == 0 {
		return 0, nil
	}
	ctx, cancel := context.WithTimeout(ctx, callTimeout)
	defer cancel()
	changes, err := s.store.SpecChanges(ctx, point.position-1, 1)
	if err != nil {
		return 0, err
	}
	if len(changes) == 0 || !point.after(changes[0]) {
		return 0, badField("resume_token", reasonResumeToken,
			"it was given for a history that is not the one here: begin again without a token")
	}
	return point.position, nil
}

// changed tells of one change; nil for one of a kind that the contract does not
// have.
func (s *specService) changed(ctx context.Context, change store.Change, withSheet bool) (*pb.WatchSpecsResponse, error) {
	head, err := s.sheets.live.ByNumber(change.SpecID, change.Revision)
	if err != nil {
		return nil, err
	}
	resp := &pb.WatchSpecsResponse{ResumeToken: encodeResumeToken(change)}
	switch change.Kind {
	case store.Published:
		resp.Kind = pb.SpecChangeKind_SPEC_CHANGE_KIND_PUBLISHED
		resp.SpecRevision = revisionOf(asPublished(head))
	case store.Withdrawn:
		resp.Kind = pb.SpecChangeKind_SPEC_CHANGE_KIND_WITHDRAWN
		resp.SpecRevision = revisionOf(head)
	default:
		return nil, nil
	}
	if !withSheet || change.Kind != store.Published {
		return resp, nil
	}
	// From the store and not through the catalogue: one who copies everything
	// must not drive out what is in use.
	ctx, cancel := context.WithTimeout(ctx, callTimeout)
	defer cancel()
	published, err := s.store.Spec(ctx, change.SpecID, change.Revision)
	resp.Sheet = published.Sheet
	return resp, err
}

// asPublished is a revision as it was before it was withdrawn.
func asPublished(h *catalogue.Head) *catalogue.Head {
	if h.Withdrawn == nil {
		return h
	}
	before := *h
	before.Withdrawn, before.WithdrawReason = nil, ""
	before.Etag = store.SpecEtag(h.Digest, false)
	return &before
}
