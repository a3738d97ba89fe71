package main

import (
	"context"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/connectivity"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/keepalive"
	"google.golang.org/grpc/status"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// maxAnswerBytes is the largest answer that is taken: a whole sheet, or a page
// of reports.
const maxAnswerBytes = 64 << 20

// silence is how long a stream may be silent before the client asks whether the
// server is still there: without asking, one that lost its power is never missed.
// A server refuses to be asked more often than every 30 seconds.
const silence = 40 * time.Second

// client speaks to one server. Nothing is sent before the first call.
type client struct {
	setups   pb.SetupServiceClient
	specs    pb.SpecServiceClient
	workshop pb.WorkshopServiceClient
	audits   pb.AuditServiceClient
	conn     *grpc.ClientConn
	address  string
	timeout  time.Duration
}

// dial prepares to speak to the server of the flags. The error is a *failure.
func (a *app) dial() (*client, error) {
	bad := usage("--server: %q is not the address of a server; want host:port", a.server)
	if a.server == "" {
		return nil, bad
	}
	conn, err := grpc.NewClient(a.server,
		grpc.WithTransportCredentials(insecure.NewCredentials()),
		grpc.WithDefaultCallOptions(grpc.MaxCallRecvMsgSize(maxAnswerBytes)),
		grpc.WithKeepaliveParams(keepalive.ClientParameters{Time: silence, Timeout: silence / 2}),
		grpc.WithUserAgent("snapgauge/"+version()))
	if err != nil {
		return nil, bad
	}
	return &client{
		setups:   pb.NewSetupServiceClient(conn),
		specs:    pb.NewSpecServiceClient(conn),
		workshop: pb.NewWorkshopServiceClient(conn),
		audits:   pb.NewAuditServiceClient(conn),
		conn:     conn,
		address:  a.server,
		timeout:  a.timeout,
	}, nil
}

func (c *client) close() { _ = c.conn.Close() }

// call makes one call within the time allowed. The error is a *failure that
// speaks of p.
func call[Request, Response any](ctx context.Context, c *client, p place,
	method func(context.Context, Request, ...grpc.CallOption) (Response, error), request Request) (Response, error) {
	response, err := exchange(ctx, c, method, request)
	if err != nil {
		return response, explain(ctx, err, c, p)
	}
	return response, nil
}

// exchange is [call] for who reads the status of the answer; the error is that of
// the method.
func exchange[Request, Response any](ctx context.Context, c *client,
	method func(context.Context, Request, ...grpc.CallOption) (Response, error), request Request) (Response, error) {
	limited, cancel := context.WithTimeout(ctx, c.timeout)
	defer cancel()
	return method(limited, request)
}

// reach waits until there is a connection, or it failed, within the time allowed.
// It is for streams, whose first answer may be long in coming.
func (c *client) reach(ctx context.Context) error {
	limited, cancel := context.WithTimeout(ctx, c.timeout)
	defer cancel()
	c.conn.Connect()
	for {
		state := c.conn.GetState()
		if state == connectivity.Ready || state == connectivity.TransientFailure {
			return nil // the call tells why it failed
		}
		if !c.conn.WaitForStateChange(limited, state) {
			return explain(ctx, status.FromContextError(limited.Err()).Err(), c, place{})
		}
	}
}
