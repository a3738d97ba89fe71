package server

import (
	"context"
	"fmt"
	"runtime/debug"

	"google.golang.org/grpc"
)

// panicError is a panic of a handler.
type panicError struct {
	value any
	stack []byte
}

func (e *panicError) Error() string { return fmt.Sprintf("panic: %v", e.value) }

// recoverUnary makes an error of a panic, so that it costs one call and not the
// service.
func recoverUnary(ctx context.Context, req any, _ *grpc.UnaryServerInfo, handler grpc.UnaryHandler) (resp any, err error) {
	defer catch(&err)
	return handler(ctx, req)
}

// recoverStream is [recoverUnary] for streams.
func recoverStream(srv any, ss grpc.ServerStream, _ *grpc.StreamServerInfo, handler grpc.StreamHandler) (err error) {
	defer catch(&err)
	return handler(srv, ss)
}

// catch must be deferred itself.
func catch(err *error) {
	if value := recover(); value != nil {
		*err = &panicError{value: value, stack: debug.Stack()}
	}
}
