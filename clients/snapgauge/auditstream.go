package main

import (
	"context"

	"google.golang.org/grpc"
	"google.golang.org/grpc/encoding"
	"google.golang.org/grpc/encoding/proto"
	"google.golang.org/grpc/mem"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// auditStream is a call of the audit service, whichever it is: requests go in,
// events come out.
type auditStream struct {
	grpc.ClientStream
	event func() (*pb.AuditEvent, error)
}

// eventsOf makes one of a method's stream.
func eventsOf[Request, Response any, P interface {
	*Response
	GetEvent() *pb.AuditEvent
}](s grpc.BidiStreamingClient[Request, Response], err error) (*auditStream, error) {
	if err != nil {
		return nil, err
	}
	return &auditStream{s, func() (*pb.AuditEvent, error) {
		m, err := s.Recv()
		return P(m).GetEvent(), err
	}}, nil
}

// openAudit begins one of the calls. It fails at once where there is no server,
// since waiting for one is the caller's to bound.
func openAudit(ctx context.Context, c *client, kind auditKind) (*auditStream, error) {
	codec := grpc.ForceCodecV2(wireCodec{encoding.GetCodecV2(proto.Name)})
	switch kind {
	case auditStored:
		return eventsOf(c.audits.AuditStoredSetups(ctx, codec))
	case auditJoined:
		return eventsOf(c.audits.JoinAudits(ctx, codec))
	}
	return eventsOf(c.audits.AuditSetups(ctx, codec))
}

// auditKind is what is audited.
type auditKind int

const (
	auditFiles auditKind = iota
	auditStored
	auditJoined
)

// wire is a message that is marshalled already. Records are kept in this form, so
// that sending one costs no more the second time, nor the first.
type wire []byte

// wireCodec is the usual codec, but that it takes a [wire] as it is.
type wireCodec struct{ encoding.CodecV2 }

func (c wireCodec) Marshal(m any) (mem.BufferSlice, error) {
	if w, ok := m.(wire); ok {
		return mem.BufferSlice{mem.SliceBuffer(w)}, nil
	}
	return c.CodecV2.Marshal(m)
}
