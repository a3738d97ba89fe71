package server

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	healthpb "google.golang.org/grpc/health/grpc_health_v1"
	reflectionpb "google.golang.org/grpc/reflection/grpc_reflection_v1"
	"google.golang.org/grpc/status"
	"google.golang.org/grpc/test/bufconn"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/emptypb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
)

// faultyStore fails in Get as it is told to.
type faultyStore struct {
	store.DB
	get  func(context.Context) error
	ping error
}

func (s faultyStore) Get(ctx context.Context, _ string) (store.Setup, error) {
	return store.Setup{}, s.get(ctx)
}

func (s faultyStore) Ping(context.Context) error { return s.ping }

func withGet(get func(context.Context) error) benchOption {
	return withStore(func(s store.DB) store.DB { return faultyStore{DB: s, get: get} })
}

// syncBuffer is a log that can be read while it is written.
type syncBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (b *syncBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.Write(p)
}

func (b *syncBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.String()
}

func TestReflection(t *testing.T) {
	b := newBench(t)
	want := []string{
		"grpc.health.v1.Health", "grpc.reflection.v1.ServerReflection", "grpc.reflection.v1alpha.ServerReflection",
		"snapgauge.v1.AuditService", "snapgauge.v1.SetupService", "snapgauge.v1.SpecService", "snapgauge.v1.WorkshopService",
	}
	stream, err := reflectionpb.NewServerReflectionClient(b.conn).ServerReflectionInfo(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	ask := func(req *reflectionpb.ServerReflectionRequest) *reflectionpb.ServerReflectionResponse {
		t.Helper()
		if err := stream.Send(req); err != nil {
			t.Fatal(err)
		}
		resp, err := stream.Recv()
		if err != nil {
			t.Fatal(err)
		}
		return resp
	}
	var got []string
	for _, s := range ask(&reflectionpb.ServerReflectionRequest{
		MessageRequest: &reflectionpb.ServerReflectionRequest_ListServices{},
	}).GetListServicesResponse().GetService() {
		got = append(got, s.GetName())
	}
	slices.Sort(got)
	if !slices.Equal(got, want) {
		t.Errorf("got services %v, want %v", got, want)
	}
	if files := ask(&reflectionpb.ServerReflectionRequest{
		MessageRequest: &reflectionpb.ServerReflectionRequest_FileContainingSymbol{FileContainingSymbol: "snapgauge.v1.SetupService.SubmitSetup"},
	}).GetFileDescriptorResponse().GetFileDescriptorProto(); len(files) == 0 {
		t.Error("got no file for SubmitSetup")
	}
	if err := stream.CloseSend(); err != nil {
		t.Error(err)
	}
}

func TestHealth(t *testing.T) {
	b := newBench(t)
	client := healthpb.NewHealthClient(b.conn)
	for _, service := range []string{"", "snapgauge.v1.AuditService", "snapgauge.v1.SetupService", "snapgauge.v1.SpecService", "snapgauge.v1.WorkshopService"} {
		resp, err := client.Check(t.Context(), &healthpb.HealthCheckRequest{Service: service})
		if err != nil || resp.GetStatus() != healthpb.HealthCheckResponse_SERVING {
			t.Errorf("%q: got %v and %v, want SERVING", service, resp, err)
		}
	}
	_, err := client.Check(t.Context(), &healthpb.HealthCheckRequest{Service: "other"})
	wantStatus(t, err, codes.NotFound, "", "")

	watch, err := client.Watch(t.Context(), &healthpb.HealthCheckRequest{})
	if err != nil {
		t.Fatal(err)
	}
	if resp, err := watch.Recv(); err != nil || resp.GetStatus() != healthpb.HealthCheckResponse_SERVING {
		t.Fatalf("got %v and %v, want SERVING", resp, err)
	}
	if err := b.server.Ready(t.Context()); err != nil {
		t.Errorf("got %v, want ready", err)
	}
	// The open stream keeps the graceful way from ending, so it is cut off.
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	stopped := make(chan error, 1)
	go func() { stopped <- b.server.Shutdown(ctx) }()
	if resp, err := watch.Recv(); err != nil || resp.GetStatus() != healthpb.HealthCheckResponse_NOT_SERVING {
		t.Errorf("got %v and %v, want NOT_SERVING", resp, err)
	}
	if err := b.server.Ready(t.Context()); err == nil {
		t.Error("got ready, want an error during shutdown")
	}
	if err := <-stopped; !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("got %v, want the deadline", err)
	}
}

func TestServeWithoutStore(t *testing.T) {
	broken := errors.New("disk gone")
	s, err := New(Config{Catalogue: emptyCatalogue(t), Store: faultyStore{ping: broken}})
	if err != nil {
		t.Fatal(err)
	}
	listener := bufconn.Listen(1)
	if err := s.Serve(t.Context(), listener); !errors.Is(err, broken) {
		t.Errorf("got %v, want %v", err, broken)
	}
	if _, err := listener.Dial(); err == nil {
		t.Error("the listener was left open")
	}
}

func TestShutdownFinishesCalls(t *testing.T) {
	entered, leave := make(chan struct{}), make(chan struct{})
	b := newBench(t, withGet(func(context.Context) error {
		close(entered)
		<-leave
		return store.ErrNotFound
	}))
	answered := make(chan error, 1)
	go func() {
		_, err := b.setups.GetSetup(t.Context(), &pb.GetSetupRequest{Name: "setups/x"})
		answered <- err
	}()
	<-entered
	stopped := make(chan error, 1)
	go func() { stopped <- b.server.Shutdown(t.Context()) }()
	select {
	case err := <-stopped:
		t.Fatalf("shutdown ended before the call: %v", err)
	case <-time.After(50 * time.Millisecond):
	}
	close(leave)
	if err := <-stopped; err != nil {
		t.Error(err)
	}
	wantStatus(t, <-answered, codes.NotFound, reasonSetupNotFound, "")
}

// What is no fault of the caller's tells nothing but where to look.
func TestInternalErrorsAreHidden(t *testing.T) {
	for name, get := range map[string]func(context.Context) error{
		"error": func(context.Context) error { return errors.New("secret: table setups is corrupt") },
		"panic": func(context.Context) error { panic("secret: index out of range") },
	} {
		t.Run(name, func(t *testing.T) {
			log := &syncBuffer{}
			b := newBench(t, withGet(get), withLog(slog.New(slog.NewJSONHandler(log, nil))))
			_, err := b.setups.GetSetup(t.Context(), &pb.GetSetupRequest{Name: "setups/x"})
			st := wantStatus(t, err, codes.Internal, "", "")
			if strings.Contains(fmt.Sprint(st.Proto()), "secret") {
				t.Errorf("got %v, want no internals", st)
			}
			var line struct {
				Level, RequestID, Error, Stack string
			}
			text := strings.ReplaceAll(log.String(), "request_id", "RequestID")
			if err := json.Unmarshal([]byte(text), &line); err != nil {
				t.Fatalf("%v in %s", err, text)
			}
			if line.Level != "ERROR" || !strings.Contains(line.Error, "secret") || line.RequestID == "" ||
				!strings.Contains(st.Message(), line.RequestID) || (line.Stack != "") != (name == "panic") {
				t.Errorf("got log %+v for %q", line, st.Message())
			}
			// The server lives.
			if _, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: goodRecord()}); err != nil {
				t.Error(err)
			}
		})
	}
}

func TestContextErrors(t *testing.T) {
	b := newBench(t, withGet(func(ctx context.Context) error {
		<-ctx.Done()
		return fmt.Errorf("waiting: %w", ctx.Err())
	}))
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
	defer cancel()
	_, err := b.setups.GetSetup(ctx, &pb.GetSetupRequest{Name: "setups/x"})
	wantStatus(t, err, codes.DeadlineExceeded, "", "")
	ctx, cancel = context.WithCancel(t.Context())
	time.AfterFunc(20*time.Millisecond, cancel)
	_, err = b.setups.GetSetup(ctx, &pb.GetSetupRequest{Name: "setups/x"})
	wantStatus(t, err, codes.Canceled, "", "")

	// Seen from the server, where the client has not answered for it.
	for err, want := range map[error]codes.Code{
		fmt.Errorf("x: %w", context.Canceled):         codes.Canceled,
		fmt.Errorf("x: %w", context.DeadlineExceeded): codes.DeadlineExceeded,
		fmt.Errorf("x: %w", store.ErrClosed):          codes.Unavailable,
		status.Error(codes.Unimplemented, "x"):        codes.Unimplemented,
		fmt.Errorf("x: %w", store.ErrIDTaken):         codes.Internal,
		fmt.Errorf("x: %w", store.ErrInvalidSetup):    codes.Internal,
		&spec.SheetError{}:                            codes.Internal,
	} {
		if st, id := statusOf(err); st.Code() != want || (id != "") != (want == codes.Internal) {
			t.Errorf("%v: got %v and request %q, want %v", err, st, id, want)
		}
	}
}

func TestDefaultDeadline(t *testing.T) {
	asked := make(chan time.Duration, 1)
	b := newBench(t, withGet(func(ctx context.Context) error {
		until, _ := ctx.Deadline()
		asked <- time.Until(until)
		return store.ErrNotFound
	}))
	_, err := b.setups.GetSetup(t.Context(), &pb.GetSetupRequest{Name: "setups/x"})
	wantStatus(t, err, codes.NotFound, "", "")
	if left := <-asked; left <= 0 || left > callTimeout {
		t.Errorf("got %v left, want at most %v", left, callTimeout)
	}
	ctx, cancel := context.WithTimeout(t.Context(), time.Second)
	defer cancel()
	_, err = b.setups.GetSetup(ctx, &pb.GetSetupRequest{Name: "setups/x"})
	wantStatus(t, err, codes.NotFound, "", "")
	if left := <-asked; left > time.Second {
		t.Errorf("got %v left, want the caller's second", left)
	}
}

// rawCodec sends bytes as they are.
type rawCodec struct{}

func (rawCodec) Name() string                  { return "proto" }
func (rawCodec) Marshal(v any) ([]byte, error) { return *v.(*[]byte), nil }
func (rawCodec) Unmarshal([]byte, any) error   { return nil }

// Bytes that are no request are the caller's fault, and counted.
func TestUnreadableRequests(t *testing.T) {
	b := newBench(t)
	badText, err := proto.Marshal(&pb.GetSetupRequest{Name: "setups/x"})
	if err != nil {
		t.Fatal(err)
	}
	badText[len(badText)-1] = 0xff
	for name, request := range map[string][]byte{
		"noise":     {0x0a, 0xff, 0xff, 0xff},
		"not UTF-8": badText,
	} {
		for _, method := range []string{
			pb.SetupService_GetSetup_FullMethodName, pb.SpecService_GetSpec_FullMethodName, pb.WorkshopService_Calculate_FullMethodName,
		} {
			t.Run(name+method, func(t *testing.T) {
				err := b.conn.Invoke(t.Context(), method, &request, &emptypb.Empty{}, grpc.ForceCodec(rawCodec{}))
				wantStatus(t, err, codes.InvalidArgument, reasonRequestUnreadable, "")
			})
		}
	}
	large := make([]byte, 10<<20)
	err = b.conn.Invoke(t.Context(), pb.SetupService_GetSetup_FullMethodName, &large, &emptypb.Empty{}, grpc.ForceCodec(rawCodec{}))
	wantStatus(t, err, codes.ResourceExhausted, "", "")
	if got := b.counter(t, "snapgauge_grpc_requests_total", "InvalidArgument"); got != 6 {
		t.Errorf("got %v refused calls counted, want 6", got)
	}
	if _, err := b.specs.ListSpecs(t.Context(), &pb.ListSpecsRequest{}); err != nil {
		t.Error(err)
	}
}

// counter adds up the counters of that name with that value for some label.
func (b *bench) counter(t testing.TB, name, value string) (sum float64) {
	t.Helper()
	families, err := b.registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	for _, family := range families {
		if family.GetName() != name {
			continue
		}
		for _, metric := range family.GetMetric() {
			for _, label := range metric.GetLabel() {
				if label.GetValue() == value {
					sum += metric.GetCounter().GetValue() + float64(metric.GetHistogram().GetSampleCount())
				}
			}
		}
	}
	return sum
}

func TestMetrics(t *testing.T) {
	b := newBench(t)
	if _, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: goodRecord()}); err != nil {
		t.Fatal(err)
	}
	tight := with(func(r *pb.SetupRecord) { r.Readings[0].Result = &pb.Reading_Value{Value: 20} })
	id := uuid.NewString()
	for range 2 { // once only in the verdicts
		if _, err := b.setups.SubmitSetup(t.Context(), &pb.SubmitSetupRequest{Record: tight, RequestId: id}); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := b.setups.GetSetup(t.Context(), &pb.GetSetupRequest{}); err == nil {
		t.Fatal("got no error")
	}
	for _, tc := range []struct {
		name, value string
		want        float64
	}{
		{"snapgauge_grpc_requests_total", pb.SetupService_ValidateSetup_FullMethodName, 1},
		{"snapgauge_grpc_requests_total", pb.SetupService_SubmitSetup_FullMethodName, 2},
		{"snapgauge_grpc_requests_total", "InvalidArgument", 1},
		{"snapgauge_grpc_request_duration_seconds", pb.SetupService_SubmitSetup_FullMethodName, 2},
		{"snapgauge_verdicts_total", "ACCEPT", 1},
		{"snapgauge_verdicts_total", "REJECT", 1},
		{"snapgauge_findings_total", "BELOW_LOWER_LIMIT", 1},
	} {
		if got := b.counter(t, tc.name, tc.value); got != tc.want {
			t.Errorf("%s{%s}: got %v, want %v", tc.name, tc.value, got, tc.want)
		}
	}
}

// The log names calls and nothing of what records say.
func TestLogHoldsNoRecords(t *testing.T) {
	log := &syncBuffer{}
	b := newBench(t, withLog(slog.New(slog.NewTextHandler(log, &slog.HandlerOptions{Level: slog.LevelDebug}))))
	record := with(func(r *pb.SetupRecord) { r.Note, r.Technician = "private-note", "private-person" })
	b.submit(t, record)
	record.Unit.Model = "private-model"
	_, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: record})
	wantStatus(t, err, codes.NotFound, reasonSpecNotFound, "")
	text := log.String()
	if strings.Contains(text, "private") || strings.Contains(text, record.GetUnit().GetVin()) {
		t.Errorf("got %s, want nothing of the record", text)
	}
	if strings.Count(text, "method=/snapgauge.v1.SetupService/") != 2 || !strings.Contains(text, "code=NotFound") {
		t.Errorf("got %s, want one line for each call", text)
	}
}

func emptyCatalogue(t testing.TB) *catalogue.Catalogue {
	t.Helper()
	return openCatalogue(t, openFile(t, filepath.Join(t.TempDir(), "test.db")), catalogue.Config{})
}

func TestNewRefuses(t *testing.T) {
	if _, err := New(Config{}); err == nil {
		t.Error("got a server of nothing")
	}
	registry := prometheus.NewRegistry()
	cfg := Config{Catalogue: emptyCatalogue(t), Store: faultyStore{}, Metrics: registry}
	if _, err := New(cfg); err != nil {
		t.Fatal(err)
	}
	if _, err := New(cfg); err == nil {
		t.Error("got a second server with the same metrics")
	}
}
