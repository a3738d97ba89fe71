package server

import (
	"context"
	"log/slog"
	"strings"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
)

// reporter turns the error of a call into its status and writes one line about
// the call: method, code, time taken, of an audit how many records, nothing of what
// was said. Calls that
// watch the service itself (health, reflection) are logged at debug level.
type reporter struct{ log *slog.Logger }

func (r reporter) unary(ctx context.Context, req any, info *grpc.UnaryServerInfo, handler grpc.UnaryHandler) (any, error) {
	start := time.Now()
	resp, err := handler(ctx, req)
	if err = r.finish(ctx, info.FullMethod, start, err); err != nil {
		return nil, err
	}
	return resp, nil
}

func (r reporter) stream(srv any, ss grpc.ServerStream, info *grpc.StreamServerInfo, handler grpc.StreamHandler) error {
	start := time.Now()
	var said remarks
	ctx := context.WithValue(ss.Context(), remarksKey{}, &said)
	err := handler(srv, remarkedStream{ss, ctx})
	return r.finish(ctx, info.FullMethod, start, err, said...)
}

// remarks are what a handler has to say in the line about its call.
type remarks []slog.Attr

type remarksKey struct{}

// remarkedStream has a context to make remarks in.
type remarkedStream struct {
	grpc.ServerStream
	ctx context.Context
}

// Context implements [grpc.ServerStream].
func (s remarkedStream) Context() context.Context { return s.ctx }

// remark adds to the line about a stream. Handlers call it before they return.
func remark(ctx context.Context, said ...slog.Attr) {
	if r, ok := ctx.Value(remarksKey{}).(*remarks); ok {
		*r = append(*r, said...)
	}
}

func (r reporter) finish(ctx context.Context, method string, start time.Time, err error, attrs ...slog.Attr) error {
	level := slog.LevelInfo
	if !strings.HasPrefix(method, ourMethods) {
		level = slog.LevelDebug
	}
	code := codes.OK
	if err != nil {
		st, requestID := statusOf(err)
		if requestID != "" {
			level = slog.LevelError
			attrs = append(attrs, slog.String("request_id", requestID), slog.String("error", err.Error()))
			if p, ok := err.(*panicError); ok {
				attrs = append(attrs, slog.String("stack", string(p.stack)))
			}
		}
		code, err = st.Code(), st.Err()
	}
	if r.log.Enabled(ctx, level) {
		attrs = append(attrs,
			slog.String("method", method),
			slog.String("code", code.String()),
			slog.Duration("took", time.Since(start)))
		r.log.LogAttrs(ctx, level, "call", attrs...)
	}
	return err
}
