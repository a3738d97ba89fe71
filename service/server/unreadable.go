package server

import (
	"context"

	"google.golang.org/grpc"
	"google.golang.org/grpc/encoding"
	protocodec "google.golang.org/grpc/encoding/proto"
	"google.golang.org/grpc/mem"
)

// gRPC for Go answers INTERNAL to bytes that are not the request, or hold text
// that is not UTF-8, as if the service were at fault, and shows such calls to no
// interceptor. Here they are one more bad request: [envelopeCodec] keeps the
// error beside the request, and [refuseUnreadable] hands it to the interceptors
// in place of a handler.

// envelope is a request on its way from the codec.
type envelope struct {
	request any
	err     error // why it could not be decoded
}

// envelopeCodec is gRPC's codec for protobuf, except that decoding into an
// envelope always succeeds.
type envelopeCodec struct{ encoding.CodecV2 }

func newEnvelopeCodec() envelopeCodec {
	return envelopeCodec{encoding.GetCodecV2(protocodec.Name)}
}

// Unmarshal implements [encoding.CodecV2].
func (c envelopeCodec) Unmarshal(data mem.BufferSlice, v any) error {
	if e, ok := v.(*envelope); ok {
		e.err = c.CodecV2.Unmarshal(data, e.request)
		return nil
	}
	return c.CodecV2.Unmarshal(data, v)
}

// refuseUnreadable returns the description of a service whose unary methods
// answer INVALID_ARGUMENT to what they cannot read. The server must use an
// [envelopeCodec].
func refuseUnreadable(desc grpc.ServiceDesc) *grpc.ServiceDesc {
	methods := make([]grpc.MethodDesc, len(desc.Methods))
	for i, method := range desc.Methods {
		inner := method.Handler
		info := &grpc.UnaryServerInfo{FullMethod: "/" + desc.ServiceName + "/" + method.MethodName}
		methods[i] = grpc.MethodDesc{
			MethodName: method.MethodName,
			Handler: func(srv any, ctx context.Context, dec func(any) error, interceptor grpc.UnaryServerInterceptor) (any, error) {
				var unread error
				resp, err := inner(srv, ctx, func(request any) error {
					e := envelope{request: request}
					if err := dec(&e); err != nil {
						return err // gRPC has answered already: too large, or broken off
					}
					if e.err != nil {
						unread = &unreadableError{e.err.Error()}
					}
					return unread
				}, interceptor)
				if unread == nil || interceptor == nil {
					return resp, err
				}
				return interceptor(ctx, nil, info, func(context.Context, any) (any, error) { return nil, unread })
			},
		}
	}
	desc.Methods = methods
	return &desc
}
