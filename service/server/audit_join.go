package server

import (
	"crypto/sha256"
	"errors"
	"io"

	"google.golang.org/grpc"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/audit"
)

// JoinAudits holds two audits at a time.
func (s *auditService) JoinAudits(stream grpc.BidiStreamingServer[pb.JoinAuditsRequest, pb.JoinAuditsResponse]) error {
	var (
		joined *audit.Auditor
		html   bool
		saved  parts
		first  = true
		given  = map[[sha256.Size]byte]bool{}
	)
	recv := untilStopping(s.stopping, stream.Recv)
	for {
		request, err := recv()
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
		one, _, err := saved.restore()
		if err != nil {
			return err
		}
		digest := saved.digest()
		if given[digest] && one.Summary().GetTotal().GetRecordCount() > 0 {
			// Parts in which nothing could be judged may well look alike.
			return &audit.DifferError{What: "one was given twice"}
		}
		given[digest] = true
		saved = parts{}
		if joined == nil {
			joined = one
		} else if err := joined.Join(one); err != nil {
			return err
		}
	}
	switch none, err := saved.none(); {
	case err != nil:
		return err
	case none && joined == nil:
		return badField("checkpoint", reasonCheckpoint, "got none, wanted the checkpoints to join")
	}
	run := &auditRun{auditor: joined, html: html, send: func(e *pb.AuditEvent) error {
		return stream.Send(&pb.JoinAuditsResponse{Event: e})
	}}
	return run.finish()
}
