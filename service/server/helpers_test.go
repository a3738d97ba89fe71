package server

import (
	"context"
	"io/fs"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/status"
	"google.golang.org/grpc/test/bufconn"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/sqlite"
)

// The instants of the tests: revision 1 of the EU sheet is in force on both.
var (
	testNow    = time.Date(2026, 3, 1, 12, 0, 0, 123456000, time.UTC)
	testFinish = time.Date(2026, 2, 27, 16, 30, 0, 0, time.UTC)
)

// bench is a server under test with a client of each service.
type bench struct {
	server   *Server
	conn     *grpc.ClientConn
	setups   pb.SetupServiceClient
	specs    pb.SpecServiceClient
	workshop pb.WorkshopServiceClient
	audits   pb.AuditServiceClient
	store    store.DB
	live     *catalogue.Catalogue
	registry *prometheus.Registry
}

// benchSetup is what a bench is made of, for its options to change.
type benchSetup struct {
	Config
	sheets fs.FS                   // what is published at the start; nil for nothing
	open   catalogue.Config        // how the catalogue works
	db     store.DB                // what is served and followed; nil for a file of its own
	wrap   func(store.DB) store.DB // between the server and db; not between the catalogue and db
}

type benchOption func(*benchSetup)

func withLog(log *slog.Logger) benchOption { return func(s *benchSetup) { s.Log = log } }

func withStore(wrap func(store.DB) store.DB) benchOption {
	return func(s *benchSetup) { s.wrap = wrap }
}

// withSheets begins with other sheets.
func withSheets(sheets fs.FS) benchOption { return func(s *benchSetup) { s.sheets = sheets } }

// withDB serves from a database that the test opened, and closes.
func withDB(db store.DB) benchOption { return func(s *benchSetup) { s.db = db } }

// withCatalogue sets how the catalogue works.
func withCatalogue(cfg catalogue.Config) benchOption { return func(s *benchSetup) { s.open = cfg } }

// newBench serves the sheets of testdata over an in-memory connection, with an
// SQLite store of its own, until the test ends.
func newBench(t testing.TB, options ...benchOption) *bench {
	t.Helper()
	b := &bench{registry: prometheus.NewRegistry()}
	setup := benchSetup{sheets: os.DirFS("testdata"), wrap: func(db store.DB) store.DB { return db }}
	setup.Metrics, setup.Now = b.registry, func() time.Time { return testNow }
	for _, option := range options {
		option(&setup)
	}
	if setup.db == nil {
		setup.db = openFile(t, filepath.Join(t.TempDir(), "test.db"))
	}
	setup.Store = setup.wrap(setup.db)
	b.store = setup.Store
	b.live = openCatalogue(t, setup.db, setup.open)
	if setup.sheets != nil {
		seed(t, b.live, setup.sheets)
	}
	setup.Catalogue = b.live
	var err error
	if b.server, err = New(setup.Config); err != nil {
		t.Fatal(err)
	}
	b.serve(t)
	return b
}

// openFile opens a store for as long as the test lasts.
func openFile(t testing.TB, path string) store.DB {
	t.Helper()
	file, err := sqlite.Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := file.Close(); err != nil {
			t.Error(err)
		}
	})
	return file
}

// openCatalogue opens a catalogue and runs it for as long as the test lasts.
func openCatalogue(t testing.TB, db store.SpecStore, cfg catalogue.Config) *catalogue.Catalogue {
	t.Helper()
	live, err := catalogue.Open(t.Context(), db, cfg)
	if err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- live.Run(context.WithoutCancel(t.Context())) }()
	t.Cleanup(func() {
		live.Close()
		if err := <-ended; err != nil {
			t.Errorf("the catalogue stopped running: %v", err)
		}
	})
	return live
}

func seed(t testing.TB, live *catalogue.Catalogue, sheets fs.FS) {
	t.Helper()
	revisions, err := spec.Load(sheets)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := live.Seed(t.Context(), revisions); err != nil {
		t.Fatal(err)
	}
}

// revision is one of those in use.
func (b *bench) revision(t testing.TB, specID string, number int) *spec.Revision {
	t.Helper()
	r, err := b.live.Revision(t.Context(), specID, number)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func (b *bench) serve(t testing.TB) {
	t.Helper()
	listener := bufconn.Listen(1 << 20)
	served := make(chan error, 1)
	go func() { served <- b.server.Serve(context.WithoutCancel(t.Context()), listener) }()
	conn, err := grpc.NewClient("passthrough:///test",
		grpc.WithContextDialer(func(ctx context.Context, _ string) (net.Conn, error) { return listener.DialContext(ctx) }),
		grpc.WithTransportCredentials(insecure.NewCredentials()))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = conn.Close()
		ctx, cancel := context.WithTimeout(context.WithoutCancel(t.Context()), 5*time.Second)
		defer cancel()
		if err := b.server.Shutdown(ctx); err != nil {
			t.Errorf("shutdown: %v", err)
		}
		if err := <-served; err != nil {
			t.Errorf("serve: %v", err)
		}
	})
	b.conn = conn
	b.setups = pb.NewSetupServiceClient(conn)
	b.specs = pb.NewSpecServiceClient(conn)
	b.workshop = pb.NewWorkshopServiceClient(conn)
	b.audits = pb.NewAuditServiceClient(conn)
}

// publish publishes a sheet upon the newest revision of its spec.
func (b *bench) publish(t testing.TB, sheet *pb.SpecSheet) *pb.SpecRevision {
	t.Helper()
	resp, err := b.specs.PublishSpec(t.Context(), &pb.PublishSpecRequest{File: wholeFile(sheet), Etag: b.etag(t, sheet.GetSpecId())})
	if err != nil {
		t.Fatal(err)
	}
	return resp.GetSpecRevision()
}

// etag is that of the newest revision of a spec, empty when there is none.
func (b *bench) etag(t testing.TB, specID string) string {
	t.Helper()
	resp, err := b.specs.ListSpecRevisions(t.Context(), &pb.ListSpecRevisionsRequest{Parent: "specs/" + specID, PageSize: 1})
	if status.Code(err) == codes.NotFound {
		return ""
	}
	if err != nil {
		t.Fatal(err)
	}
	return resp.GetSpecRevisions()[0].GetEtag()
}

// goodRecord is one that revision 1 of the EU sheet accepts.
func goodRecord() *pb.SetupRecord {
	at := func(minute int) *timestamppb.Timestamp {
		return timestamppb.New(testFinish.Add(time.Duration(minute-60) * time.Minute))
	}
	value := func(id string, v float64, unit string, minute int) *pb.Reading {
		return &pb.Reading{Characteristic: id, Result: &pb.Reading_Value{Value: v}, Unit: unit, Time: at(minute)}
	}
	return &pb.SetupRecord{
		Unit: &pb.Unit{
			Vin: "0VBRL0000T1000123", Model: "Rill 125", ModelYear: 2026, Market: "EU",
			Hours: proto.Float64(0.1),
		},
		Phase:      pb.Phase_PHASE_PRE_DELIVERY,
		Shop:       "north",
		Technician: "ab",
		StartTime:  at(0),
		FinishTime: timestamppb.New(testFinish),
		Readings: []*pb.Reading{
			value("chain_slack", 41, "mm", 5),
			value("rear_axle_nut", 90, "N.m", 10),
			value("gearbox_oil_fill", 600, "mL", 15),
			value("front_sprocket", 12, "", 20),
			{Characteristic: "stop_switch", Result: &pb.Reading_Pass{Pass: true}, Time: at(30)},
		},
	}
}

// with returns a good record after a change.
func with(change func(*pb.SetupRecord)) *pb.SetupRecord {
	record := goodRecord()
	change(record)
	return record
}

func (b *bench) submit(t testing.TB, record *pb.SetupRecord) *pb.Setup {
	t.Helper()
	resp, err := b.setups.SubmitSetup(t.Context(), &pb.SubmitSetupRequest{Record: record, RequestId: uuid.NewString()})
	if err != nil {
		t.Fatal(err)
	}
	return resp.GetSetup()
}

// stored is how many setups the store has.
func (b *bench) stored(t testing.TB) int {
	t.Helper()
	setups, _, err := b.store.List(t.Context(), store.Query{Limit: store.MaxLimit})
	if err != nil {
		t.Fatal(err)
	}
	return len(setups)
}

// detailsOf are those of an error's status.
func detailsOf(err error) []any { return status.Convert(err).Details() }

// wantStatus checks what an error says: its code, the reason of its ErrorInfo or
// of a field violation, and the field of that violation.
func wantStatus(t testing.TB, err error, code codes.Code, reason, field string) *status.Status {
	t.Helper()
	st, ok := status.FromError(err)
	if !ok || st.Code() != code {
		t.Fatalf("got %v, want code %v", err, code)
	}
	var reasons, fields []string
	for _, detail := range st.Details() {
		switch d := detail.(type) {
		case *errdetails.ErrorInfo:
			if d.GetDomain() != domain {
				t.Errorf("got domain %q, want %q", d.GetDomain(), domain)
			}
			reasons = append(reasons, d.GetReason())
		case *errdetails.BadRequest:
			for _, v := range d.GetFieldViolations() {
				if v.GetDescription() == "" {
					t.Errorf("violation of %s has no description", v.GetField())
				}
				if field == "" || v.GetField() == field {
					reasons = append(reasons, v.GetReason())
				}
				fields = append(fields, v.GetField())
			}
		}
	}
	if reason != "" && !slices.Contains(reasons, reason) {
		t.Errorf("got reasons %q for fields %q in %v, want %s", reasons, fields, st, reason)
	}
	if field != "" && !slices.Contains(fields, field) {
		t.Errorf("got fields %q in %v, want %s", fields, st, field)
	}
	return st
}
