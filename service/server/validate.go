package server

import (
	"context"
	"fmt"
	"strings"

	"buf.build/go/protovalidate"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/shape"
)

// ourMethods begins the full name of every method of the contract.
const ourMethods = "/snapgauge.v1."

// validator checks requests against the constraints of the contract.
type validator struct{ prepared protovalidate.Validator }

// newValidator prepares the constraints of every request of the contract, so
// that a broken one is found at start and no call waits for it.
func newValidator() (validator, error) {
	var requests []protoreflect.MessageDescriptor
	for _, file := range []protoreflect.FileDescriptor{
		pb.File_snapgauge_v1_audit_service_proto,
		pb.File_snapgauge_v1_setup_service_proto,
		pb.File_snapgauge_v1_spec_service_proto,
		pb.File_snapgauge_v1_workshop_service_proto,
	} {
		for i := range file.Services().Len() {
			methods := file.Services().Get(i).Methods()
			for j := range methods.Len() {
				requests = append(requests, methods.Get(j).Input())
			}
		}
	}
	prepared, err := protovalidate.New(
		protovalidate.WithMessageDescriptors(requests...),
		protovalidate.WithDisableLazy(),
	)
	if err != nil {
		return validator{}, fmt.Errorf("constraints of the contract: %w", err)
	}
	return validator{prepared}, nil
}

// unary refuses malformed requests of the contract's own methods. All that is
// wrong is told at once, except that times are looked at only when the rest is
// well.
func (v validator) unary(ctx context.Context, req any, info *grpc.UnaryServerInfo, handler grpc.UnaryHandler) (any, error) {
	if m, ok := req.(proto.Message); ok && strings.HasPrefix(info.FullMethod, ourMethods) {
		if err := v.check(m); err != nil {
			return nil, err
		}
	}
	return handler(ctx, req)
}

// stream is [validator.unary] for every request of a stream.
func (v validator) stream(srv any, ss grpc.ServerStream, info *grpc.StreamServerInfo, handler grpc.StreamHandler) error {
	if strings.HasPrefix(info.FullMethod, ourMethods) {
		ss = &validStream{ServerStream: ss, validator: v}
	}
	return handler(srv, ss)
}

// validStream gives its handler only requests that are well formed. It needs an
// [envelopeCodec].
type validStream struct {
	grpc.ServerStream
	validator validator
	begun     bool // a request was received
}

// RecvMsg implements [grpc.ServerStream].
func (s *validStream) RecvMsg(request any) error {
	e := envelope{request: request}
	if err := s.ServerStream.RecvMsg(&e); err != nil {
		return err // io.EOF, or gRPC has answered already
	}
	begun := s.begun
	s.begun = true
	if r, ok := request.(*pb.AuditSetupsRequest); ok && begun {
		// A bad record does not end an audit: its judges check it, in its place.
		if e.err != nil {
			r.Message = &pb.AuditSetupsRequest_Unreadable{Unreadable: &pb.UnreadableRecord{Message: e.err.Error()}}
		}
		if r.GetRecord() != nil || r.GetUnreadable() != nil {
			return nil
		}
	}
	if e.err != nil {
		return &unreadableError{e.err.Error()}
	}
	if m, ok := request.(proto.Message); ok {
		return s.validator.check(m)
	}
	return nil
}

// record refuses a record that is malformed, by itself: paths begin in it.
func (v validator) record(record *pb.SetupRecord) error {
	if shape.Sound(record) {
		return nil
	}
	if err := v.prepared.Validate(record); err != nil {
		return err
	}
	var t times
	t.record("", record)
	if len(t) > 0 {
		return &fieldError{t}
	}
	return nil
}

// check refuses a request that is malformed. What [shape] is not certain of is
// decided here, and every error is made here.
func (v validator) check(request proto.Message) error {
	if shape.SoundRequest(request) {
		return nil
	}
	if err := v.prepared.Validate(request); err != nil {
		return err
	}
	return checkTimes(request)
}
