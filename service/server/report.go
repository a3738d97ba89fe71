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
// the call: method, code, time taken, nothing of what was said. Calls that
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
	return r.finish(ss.Context(), info.FullMethod, start, handler(srv, ss))
}

func (r reporter) finish(ctx context.Context, method string, start time.Time, err error) error {
	level := slog.LevelInfo
	if !strings.HasPrefix(method, ourMethods) {
		level = slog.LevelDebug
	}
	code := codes.OK
	var attrs []slog.Attr
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
