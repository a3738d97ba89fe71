package server

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/grpc"
	"google.golang.org/grpc/health"
	healthpb "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/reflection"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/store"
)

// Config is what a [Server] is made of.
type Config struct {
	// Catalogue says which sheets are in force. Required. The caller runs it, and
	// closes it after [Server.Shutdown].
	Catalogue *catalogue.Catalogue
	// Store keeps set-ups, and the sheets that the catalogue shows. Required. The
	// caller closes it after the catalogue.
	Store store.DB
	// Log gets one line for each call. Nil means none.
	Log *slog.Logger
	// Metrics is where metrics are registered. Nil means nowhere.
	Metrics prometheus.Registerer
	// Now is the clock. Nil means time.Now.
	Now func() time.Time
}

// Server is the service with its health and reflection. Make one with [New].
type Server struct {
	grpc     *grpc.Server
	health   *health.Server
	store    store.Store
	stop     func()          // once or more
	stopping <-chan struct{} // closed by stop
}

// New prepares a server: an error here means a broken contract or metrics that
// are registered twice. It does not touch the store.
func New(cfg Config) (*Server, error) {
	if cfg.Catalogue == nil || cfg.Store == nil {
		return nil, errors.New("server: got no catalogue or no store, wanted both")
	}
	if cfg.Log == nil {
		cfg.Log = slog.New(slog.DiscardHandler)
	}
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	check, err := newValidator()
	if err != nil {
		return nil, err
	}
	counts, err := newMetrics(cfg.Metrics, cfg.Catalogue)
	if err != nil {
		return nil, err
	}
	tell := reporter{cfg.Log}
	options := append(limits(),
		grpc.ChainUnaryInterceptor(counts.unary, tell.unary, recoverUnary, deadline, check.unary),
		grpc.ChainStreamInterceptor(counts.stream, tell.stream, recoverStream, check.stream),
		grpc.ForceServerCodecV2(newEnvelopeCodec()),
		grpc.WaitForHandlers(true),
	)
	stopping := make(chan struct{})
	s := &Server{
		grpc: grpc.NewServer(options...), health: health.NewServer(), store: cfg.Store,
		stop: sync.OnceFunc(func() { close(stopping) }), stopping: stopping,
	}
	inUse := &sheets{live: cfg.Catalogue, now: cfg.Now, log: cfg.Log}
	s.grpc.RegisterService(refuseUnreadable(pb.SetupService_ServiceDesc),
		&setupService{sheets: inUse, store: cfg.Store, now: cfg.Now, metrics: counts})
	s.grpc.RegisterService(refuseUnreadable(pb.SpecService_ServiceDesc),
		&specService{sheets: inUse, store: cfg.Store, now: cfg.Now, stopping: stopping})
	s.grpc.RegisterService(refuseUnreadable(pb.AuditService_ServiceDesc),
		&auditService{sheets: inUse, store: cfg.Store, check: check, metrics: counts, stopping: stopping})
	s.grpc.RegisterService(refuseUnreadable(pb.WorkshopService_ServiceDesc), &workshopService{})
	healthpb.RegisterHealthServer(s.grpc, s.health)
	reflection.Register(s.grpc) // v1 and v1alpha
	s.setHealth(healthpb.HealthCheckResponse_NOT_SERVING)
	return s, nil
}

// setHealth sets the status of the whole and of each service.
func (s *Server) setHealth(status healthpb.HealthCheckResponse_ServingStatus) {
	for _, service := range []string{
		"",
		pb.SetupService_ServiceDesc.ServiceName,
		pb.SpecService_ServiceDesc.ServiceName,
		pb.AuditService_ServiceDesc.ServiceName,
		pb.WorkshopService_ServiceDesc.ServiceName,
	} {
		s.health.SetServingStatus(service, status)
	}
}

// Ready returns nil when the store answers and [Server.Shutdown] has not begun.
func (s *Server) Ready(ctx context.Context) error {
	select {
	case <-s.stopping:
		return errors.New("shutting down")
	default:
	}
	if err := s.store.Ping(ctx); err != nil {
		return fmt.Errorf("store: %w", err)
	}
	return nil
}

// Serve answers calls on the listener, and returns nil after [Server.Shutdown].
// Health becomes SERVING once the store has answered; when it does not, Serve
// closes the listener and returns why. ctx bounds that question alone.
func (s *Server) Serve(ctx context.Context, listener net.Listener) error {
	if err := s.Ready(ctx); err != nil {
		return errors.Join(err, listener.Close())
	}
	s.setHealth(healthpb.HealthCheckResponse_SERVING)
	if err := s.grpc.Serve(listener); err != nil && !errors.Is(err, grpc.ErrServerStopped) {
		return fmt.Errorf("serve: %w", err)
	}
	return nil
}

// Shutdown says NOT_SERVING, refuses new calls, ends the streams of changes and
// the audits, and waits for the calls under way. When ctx ends first, it cuts them
// off and returns ctx.Err(). No handler runs any more when it returns, so the store
// can be closed.
func (s *Server) Shutdown(ctx context.Context) error {
	s.stop()
	s.health.Shutdown()
	done := make(chan struct{})
	go func() {
		s.grpc.GracefulStop()
		close(done)
	}()
	select {
	case <-done:
		return nil
	case <-ctx.Done():
		s.grpc.Stop()
		<-done
		return ctx.Err()
	}
}
