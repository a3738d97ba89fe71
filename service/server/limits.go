package server

import (
	"context"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/keepalive"
)

// What one caller may ask of the service.
const (
	maxReceiveBytes      = 4 << 20 // of one request; more is RESOURCE_EXHAUSTED
	maxHeaderBytes       = 32 << 10
	maxConcurrentStreams = 256 // calls at a time on one connection; more wait
	connectTimeout       = 20 * time.Second
	callTimeout          = 10 * time.Second // of a unary call whose own deadline is not sooner
	leastPingInterval    = 30 * time.Second // a client that pings more often is disconnected
	idleTimeout          = 30 * time.Minute
	pingInterval         = 2 * time.Minute // finds out clients that are gone
	pingTimeout          = 20 * time.Second
)

// limits are the options that bound a gRPC server.
func limits() []grpc.ServerOption {
	return []grpc.ServerOption{
		grpc.MaxRecvMsgSize(maxReceiveBytes),
		grpc.MaxHeaderListSize(maxHeaderBytes),
		grpc.MaxConcurrentStreams(maxConcurrentStreams),
		grpc.ConnectionTimeout(connectTimeout),
		grpc.KeepaliveEnforcementPolicy(keepalive.EnforcementPolicy{
			MinTime:             leastPingInterval,
			PermitWithoutStream: true,
		}),
		grpc.KeepaliveParams(keepalive.ServerParameters{
			MaxConnectionIdle: idleTimeout,
			Time:              pingInterval,
			Timeout:           pingTimeout,
		}),
	}
}

// deadline sees to it that a call ends some time, also for a caller who set no
// deadline. Streams are exempt: health is watched for as long as one likes.
func deadline(ctx context.Context, req any, _ *grpc.UnaryServerInfo, handler grpc.UnaryHandler) (any, error) {
	ctx, cancel := context.WithTimeout(ctx, callTimeout)
	defer cancel()
	return handler(ctx, req)
}
