package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"net"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// fakeAudit is an audit service that judges by the technician's name and keeps a
// digest of all that it was sent, so that a record that is lost, comes twice or in
// another order shows in the summary.
type fakeAudit struct {
	pb.UnimplementedAuditServiceServer
	specs    *fake
	address  string
	listener *droppingListener

	mu     sync.Mutex
	starts []*pb.AuditOptions // of all calls
	stored []*pb.AuditStoredStart
	resume []int64 // record counts of the checkpoints that calls went on from
	deaths []death // of the calls to come, the first first
	calls  int
	// refuse is what calls answer, where given.
	refuse error
	// hold, where given, is waited for before a call goes on after its first result.
	hold <-chan struct{}
	// twist changes an event of the call of this number on its way.
	twist func(call int, e *pb.AuditEvent)
	// records that AuditStoredSetups has.
	store []*pb.SetupRecord
}

// death is how a call ends too early: after so many results, in one of several
// ways.
type death struct {
	after int64
	how   dying
}

type dying int

const (
	dieAtOnce        dying = iota // UNAVAILABLE
	dieAfterSaving                // the same, after a last checkpoint
	dieInsideSaving               // the same, in the middle of a checkpoint
	dieWithoutAWord               // the connection is cut
	dieBeforeTheHTML              // UNAVAILABLE, after the summary
)

func newFakeAudit(t *testing.T) *fakeAudit {
	t.Helper()
	inner, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	f := &fakeAudit{address: inner.Addr().String(), listener: &droppingListener{Listener: inner}, specs: &fake{}}
	server := grpc.NewServer()
	pb.RegisterAuditServiceServer(server, f)
	pb.RegisterSpecServiceServer(server, f.specs)
	go func() { _ = server.Serve(f.listener) }()
	t.Cleanup(server.Stop)
	return f
}

// cli runs a command line against it.
func (f *fakeAudit) cli(t *testing.T, args ...string) (code int, out, errs string) {
	t.Helper()
	return run(t, world{env: map[string]string{"SNAPGAUGE_SERVER": f.address}}, args...)
}

// droppingListener can cut all connections.
type droppingListener struct {
	net.Listener
	mu    sync.Mutex
	conns []net.Conn
}

func (l *droppingListener) Accept() (net.Conn, error) {
	c, err := l.Listener.Accept()
	if err == nil {
		l.mu.Lock()
		defer l.mu.Unlock()
		l.conns = append(l.conns, c)
	}
	return c, err
}

func (l *droppingListener) drop() {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, c := range l.conns {
		_ = c.Close()
	}
	l.conns = nil
}

// fakeState is what the fake knows of an audit; it is the checkpoint, padded so
// that it takes several parts.
type fakeState struct {
	Options []byte
	Records int64
	Errors  int64
	ByShop  map[string]map[int32]int64
	Digest  []byte
}

func (s *fakeState) judge(record *pb.SetupRecord, unreadable *pb.UnreadableRecord) *pb.AuditResult {
	sum := sha256.New()
	sum.Write(s.Digest)
	for _, m := range []proto.Message{record, unreadable} {
		data, err := proto.MarshalOptions{Deterministic: true}.Marshal(m)
		if err != nil {
			panic(err)
		}
		sum.Write(data)
	}
	s.Digest = sum.Sum(nil)
	r := &pb.AuditResult{Index: s.Records}
	s.Records++
	switch {
	case unreadable != nil:
		s.Errors++
		r.Error = &pb.AuditError{Reason: "UNREADABLE", Message: unreadable.GetMessage()}
		return r
	case record.GetShop() == "":
		s.Errors++
		r.Error = &pb.AuditError{Reason: "required", Message: "shop: value is required"}
		return r
	}
	r.Vin, r.Model, r.Shop, r.Technician = record.GetUnit().GetVin(), record.GetUnit().GetModel(), record.GetShop(), record.GetTechnician()
	r.SpecRevision = revisionName
	r.Verdict = pb.Verdict_VERDICT_ACCEPT
	if strings.HasPrefix(r.GetTechnician(), "bad") {
		r.Verdict = pb.Verdict_VERDICT_REJECT
		r.Findings = []*pb.AuditFinding{{Code: pb.FindingCode_FINDING_CODE_MISSING_READING, Severity: pb.Severity_SEVERITY_RECORD, Message: "nothing was read"}}
	}
	if s.ByShop[r.GetShop()] == nil {
		s.ByShop[r.GetShop()] = make(map[int32]int64)
	}
	s.ByShop[r.GetShop()][int32(r.GetVerdict())]++
	return r
}

const fakePadding = 1300 << 10

func (s *fakeState) save() []byte {
	data, err := json.Marshal(s)
	if err != nil {
		panic(err)
	}
	return append(data, bytes.Repeat([]byte(" "), fakePadding)...)
}

func (s *fakeState) summary() *pb.AuditSummary {
	options := new(pb.AuditOptions)
	if err := proto.Unmarshal(s.Options, options); err != nil {
		panic(err)
	}
	sum := &pb.AuditSummary{
		Options: options, EngineVersion: "1", AuditVersion: "1", RecordCount: s.Records, ErrorCount: s.Errors,
		Total: &pb.AuditYield{}, Notes: []string{fmt.Sprintf("digest %x", s.Digest[:min(8, len(s.Digest))])},
	}
	for _, shop := range slices.Sorted(maps.Keys(s.ByShop)) {
		verdicts := s.ByShop[shop]
		y := &pb.AuditYield{Name: shop, AcceptedCount: verdicts[1], RejectedCount: verdicts[2]}
		y.RecordCount = y.GetAcceptedCount() + y.GetRejectedCount()
		y.Yield = &pb.AuditEstimate{Value: float64(y.GetAcceptedCount()) / float64(y.GetRecordCount())}
		sum.Shops = append(sum.Shops, y)
		sum.Total.RecordCount += y.GetRecordCount()
		sum.Total.AcceptedCount += y.GetAcceptedCount()
		sum.Total.RejectedCount += y.GetRejectedCount()
	}
	if s.Errors > 0 {
		sum.Errors = []*pb.AuditErrorCount{{Reason: "UNREADABLE", RecordCount: s.Errors}}
	}
	return sum
}

// fakeCall is one call under way.
type fakeCall struct {
	*fakeAudit
	send  func(*pb.AuditEvent) error
	state *fakeState
	death *death
	gave  int64
}

func (f *fakeAudit) begin(options *pb.AuditOptions, saved []byte, send func(*pb.AuditEvent) error) (*fakeCall, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.calls++
	f.starts = append(f.starts, options)
	c := &fakeCall{fakeAudit: f, state: &fakeState{ByShop: make(map[string]map[int32]int64)}}
	call, twist := f.calls, f.twist
	c.send = func(e *pb.AuditEvent) error {
		if twist != nil {
			twist(call, e)
		}
		return send(e)
	}
	if len(f.deaths) > 0 {
		c.death = &f.deaths[0]
		f.deaths = f.deaths[1:]
	}
	if f.refuse != nil {
		return nil, f.refuse
	}
	if saved != nil {
		if err := json.Unmarshal(saved, c.state); err != nil {
			return nil, badRequest("checkpoint", "CHECKPOINT_INVALID", "the checkpoint is damaged")
		}
		f.resume = append(f.resume, c.state.Records)
		return c, nil
	}
	options = proto.CloneOf(options)
	if options.GetKnownTime() == nil {
		options.KnownTime = timestamppb.New(testTime.Add(time.Duration(f.calls) * time.Hour))
	}
	var err error
	c.state.Options, err = proto.MarshalOptions{Deterministic: true}.Marshal(options)
	return c, err
}

func (c *fakeCall) interval() int64 {
	options := new(pb.AuditOptions)
	if err := proto.Unmarshal(c.state.Options, options); err != nil {
		panic(err)
	}
	if options.GetCheckpointInterval() > 0 {
		return int64(options.GetCheckpointInterval())
	}
	return 10_000
}

// checkpoint sends the state in parts, or only the first of them.
func (c *fakeCall) checkpoint(whole bool) error {
	const size = 1100 << 10 // more than the client sends at a time
	for data := c.state.save(); len(data) > 0; {
		n := min(len(data), size)
		part := &pb.AuditCheckpoint{RecordCount: c.state.Records, Part: data[:n], Last: n == len(data)}
		if err := c.send(&pb.AuditEvent{Event: &pb.AuditEvent_Checkpoint{Checkpoint: part}}); err != nil || !whole {
			return err
		}
		data = data[n:]
	}
	return nil
}

func (c *fakeCall) die() error {
	gone := status.Error(codes.Unavailable, "the service is shutting down")
	switch c.death.how {
	case dieAfterSaving:
		return errors.Join(c.checkpoint(true), gone)
	case dieInsideSaving:
		return errors.Join(c.checkpoint(false), gone)
	case dieWithoutAWord:
		c.listener.drop()
		return context.Canceled
	}
	return gone
}

func (c *fakeCall) answer(result *pb.AuditResult) error {
	if err := c.send(&pb.AuditEvent{Event: &pb.AuditEvent_Results{Results: &pb.AuditResults{Results: []*pb.AuditResult{result}}}}); err != nil {
		return err
	}
	if c.gave++; c.gave == 1 && c.hold != nil {
		<-c.hold
	}
	if c.state.Records%c.interval() == 0 {
		if err := c.checkpoint(true); err != nil {
			return err
		}
	}
	return c.maybeDie()
}

func (c *fakeCall) maybeDie() error {
	if c.death != nil && c.death.how != dieBeforeTheHTML && c.gave == c.death.after {
		return c.die()
	}
	return nil
}

func (c *fakeCall) finish() error {
	if err := c.checkpoint(true); err != nil {
		return err
	}
	summary := c.state.summary()
	if err := c.send(&pb.AuditEvent{Event: &pb.AuditEvent_Summary{Summary: summary}}); err != nil {
		return err
	}
	if c.death != nil && c.death.how == dieBeforeTheHTML {
		return c.die()
	}
	if !summary.GetOptions().GetHtmlReport() {
		return nil
	}
	for i, part := range []string{"<!DOCTYPE html>\n", fmt.Sprintf("<p>%d records\n", c.state.Records)} {
		if err := c.send(&pb.AuditEvent{Event: &pb.AuditEvent_Report{Report: &pb.AuditReportPart{
			Part: []byte(part), MediaType: "text/html; charset=utf-8", Last: i == 1}}}); err != nil {
			return err
		}
	}
	return nil
}

func (f *fakeAudit) AuditSetups(stream grpc.BidiStreamingServer[pb.AuditSetupsRequest, pb.AuditSetupsResponse]) error {
	request, err := stream.Recv()
	if err != nil {
		return err
	}
	start := request.GetStart()
	if start == nil {
		return badRequest("message", "AUDIT_ORDER", "wanted start first")
	}
	var saved []byte
	whole := true
	for request, err = stream.Recv(); err == nil && request.GetCheckpoint() != nil; request, err = stream.Recv() {
		part := request.GetCheckpoint()
		if len(part.GetPart()) > 1<<20 {
			return badRequest("checkpoint.part", "bytes.max_len", "is too long")
		}
		saved, whole = append(saved, part.GetPart()...), part.GetLast()
	}
	if !whole {
		return badRequest("checkpoint", "CHECKPOINT_INVALID", "its last part is missing")
	}
	c, bad := f.begin(start, saved, func(e *pb.AuditEvent) error { return stream.Send(&pb.AuditSetupsResponse{Event: e}) })
	if bad != nil {
		return bad
	}
	if err := c.maybeDie(); err != nil { // before the first result
		return err
	}
	for ; err == nil; request, err = stream.Recv() {
		if err := c.answer(c.state.judge(request.GetRecord(), request.GetUnreadable())); err != nil {
			return err
		}
	}
	if !errors.Is(err, io.EOF) {
		return err
	}
	return c.finish()
}

func (f *fakeAudit) AuditStoredSetups(stream grpc.BidiStreamingServer[pb.AuditStoredSetupsRequest, pb.AuditStoredSetupsResponse]) error {
	var start *pb.AuditStoredStart
	var saved []byte
	for {
		request, err := stream.Recv()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		if start == nil {
			if start = request.GetStart(); start == nil {
				return badRequest("message", "AUDIT_ORDER", "wanted start first")
			}
			continue
		}
		saved = append(saved, request.GetCheckpoint().GetPart()...)
	}
	if strings.Contains(start.GetFilter(), "nosuch") {
		return badRequest("start.filter", "FILTER_INVALID", "there is no field nosuch")
	}
	f.mu.Lock()
	f.stored = append(f.stored, start)
	f.mu.Unlock()
	c, err := f.begin(start.GetOptions(), saved, func(e *pb.AuditEvent) error {
		return stream.Send(&pb.AuditStoredSetupsResponse{Event: e})
	})
	if err != nil {
		return err
	}
	if err := c.maybeDie(); err != nil {
		return err
	}
	for i := c.state.Records; i < int64(len(f.store)); i++ {
		result := c.state.judge(f.store[i], nil)
		result.Setup, result.VerdictThen = fmt.Sprintf("setups/n%d", i), pb.Verdict_VERDICT_ACCEPT
		if err := c.answer(result); err != nil {
			return err
		}
	}
	return c.finish()
}

func (f *fakeAudit) JoinAudits(stream grpc.BidiStreamingServer[pb.JoinAuditsRequest, pb.JoinAuditsResponse]) error {
	c := &fakeCall{fakeAudit: f, send: func(e *pb.AuditEvent) error { return stream.Send(&pb.JoinAuditsResponse{Event: e}) }}
	var saved []byte
	html, first := false, true
	for {
		request, err := stream.Recv()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		if first {
			html, first = request.GetHtmlReport(), false
		}
		if saved = append(saved, request.GetCheckpoint().GetPart()...); !request.GetCheckpoint().GetLast() {
			continue
		}
		one := new(fakeState)
		if err := json.Unmarshal(saved, one); err != nil {
			return badRequest("checkpoint", "CHECKPOINT_INVALID", "the checkpoint is damaged")
		}
		saved = nil
		if c.state == nil {
			c.state = one
			continue
		}
		a, b := c.state.summary().GetOptions(), one.summary().GetOptions()
		if a.GetSpecRevision() != b.GetSpecRevision() {
			return withDetails(codes.FailedPrecondition, "the audits cannot be joined: they were judged by different revisions",
				&errdetails.ErrorInfo{Reason: "AUDITS_DIFFER"})
		}
		c.state.Records += one.Records
		c.state.Errors += one.Errors
		for shop, verdicts := range one.ByShop {
			if c.state.ByShop[shop] == nil {
				c.state.ByShop[shop] = make(map[int32]int64)
			}
			for v, n := range verdicts {
				c.state.ByShop[shop][v] += n
			}
		}
		sum := sha256.Sum256(append(c.state.Digest, one.Digest...))
		c.state.Digest = sum[:]
	}
	options := c.state.summary().GetOptions()
	options.HtmlReport = html
	var err error
	if c.state.Options, err = (proto.MarshalOptions{Deterministic: true}).Marshal(options); err != nil {
		return err
	}
	return c.finish()
}

// silentRun is an audit by the fake that says and writes nothing.
func (f *fakeAudit) silentRun(t *testing.T, options *pb.AuditOptions) *auditRun {
	t.Helper()
	a := &app{server: f.address, timeout: defaultTimeout}
	c, err := a.dial()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.close)
	return &auditRun{
		client: c, feed: newFeed(), out: &auditOutput{}, line: &progress{write: func(string) {}}, bad: &badRecords{say: func(string) {}},
		start: &pb.AuditSetupsRequest{Message: &pb.AuditSetupsRequest_Start{Start: options}},
	}
}
