package server

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"path/filepath"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/audit"
	"github.com/snapgauge/snapgauge/service/gauge"
)

// newAuditBench is a bench on a database that others may share, and on the clock
// that the database has: what is known when an audit begins depends on both.
func newAuditBench(t testing.TB, path string, options ...benchOption) *bench {
	t.Helper()
	clock := func(s *benchSetup) { s.Now = time.Now }
	return newBench(t, append([]benchOption{clock, withDB(openFile(t, path))}, options...)...)
}

// told is what an audit told.
type told struct {
	results     []*pb.AuditResult
	checkpoints []savedAudit // whole ones, in their order
	summary     *pb.AuditSummary
	report      []byte
}

// savedAudit is a checkpoint put together.
type savedAudit struct {
	count int64
	data  []byte
}

func (o *told) take(e *pb.AuditEvent) {
	switch {
	case e.GetResults() != nil:
		o.results = append(o.results, e.GetResults().GetResults()...)
	case e.GetCheckpoint() != nil:
		part := e.GetCheckpoint()
		if n := len(o.checkpoints); n == 0 || o.checkpoints[n-1].count != part.GetRecordCount() {
			o.checkpoints = append(o.checkpoints, savedAudit{count: part.GetRecordCount()})
		}
		at := &o.checkpoints[len(o.checkpoints)-1]
		at.data = append(at.data, part.GetPart()...)
	case e.GetSummary() != nil:
		o.summary = e.GetSummary()
	case e.GetReport() != nil:
		o.report = append(o.report, e.GetReport().GetPart()...)
	}
}

func startOf(options *pb.AuditOptions) *pb.AuditSetupsRequest {
	return &pb.AuditSetupsRequest{Message: &pb.AuditSetupsRequest_Start{Start: options}}
}

func recordOf(r *pb.SetupRecord) *pb.AuditSetupsRequest {
	return &pb.AuditSetupsRequest{Message: &pb.AuditSetupsRequest_Record{Record: r}}
}

func partsOf(saved savedAudit) []*pb.AuditCheckpoint {
	half := len(saved.data) / 2
	return []*pb.AuditCheckpoint{
		{RecordCount: saved.count, Part: saved.data[:half]},
		{RecordCount: saved.count, Part: saved.data[half:], Last: true},
	}
}

// audit sends everything and takes what comes back.
func (b *bench) audit(t testing.TB, options *pb.AuditOptions, from *savedAudit, requests []*pb.AuditSetupsRequest) (told, error) {
	t.Helper()
	stream, err := b.audits.AuditSetups(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	go func() {
		all := []*pb.AuditSetupsRequest{startOf(options)}
		if from != nil {
			for _, part := range partsOf(*from) {
				all = append(all, &pb.AuditSetupsRequest{Message: &pb.AuditSetupsRequest_Checkpoint{Checkpoint: part}})
			}
		}
		for _, r := range append(all, requests...) {
			if stream.Send(r) != nil {
				return // Recv says why
			}
		}
		_ = stream.CloseSend()
	}()
	return receive(stream.Recv)
}

// receive takes what comes until the stream ends.
func receive[R interface{ GetEvent() *pb.AuditEvent }](next func() (R, error)) (o told, err error) {
	for {
		r, err := next()
		if errors.Is(err, io.EOF) {
			return o, nil
		}
		if err != nil {
			return o, err
		}
		o.take(r.GetEvent())
	}
}

// population is a mixture of good, wrong and bad records, as requests.
func population(n int) []*pb.AuditSetupsRequest {
	var requests []*pb.AuditSetupsRequest
	for i := range n {
		record := with(func(r *pb.SetupRecord) {
			r.Shop = fmt.Sprintf("shop-%d", i%3)
			r.Technician = fmt.Sprintf("t%d", i%4)
			r.Unit.Vin = fmt.Sprintf("0VBRL0000T1%06d", i)
			r.Readings[0].Result = &pb.Reading_Value{Value: 38 + float64(i%5)}
		})
		switch i % 10 {
		case 3:
			record.Readings[1].Result = &pb.Reading_Value{Value: 10}
		case 5:
			record.Readings[2].Unit = "N.m"
		case 6:
			record.Shop = "NOT A SHOP"
		case 7:
			record.Unit.Model = "Nobody Knows 1"
		case 8:
			requests = append(requests, &pb.AuditSetupsRequest{Message: &pb.AuditSetupsRequest_Unreadable{
				Unreadable: &pb.UnreadableRecord{Message: "line 8:\nnot JSON"},
			}})
			continue
		case 9:
			record.FinishTime = timestamppb.New(time.Date(1999, 1, 1, 0, 0, 0, 0, time.UTC))
			record.StartTime = nil
		}
		requests = append(requests, recordOf(record))
	}
	return requests
}

// Each record is answered in its place, a bad one with the reason why.
func TestAudit(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	began := time.Now()
	got, err := b.audit(t, &pb.AuditOptions{HtmlReport: true, Title: "North"}, nil, population(100))
	if err != nil {
		t.Fatal(err)
	}
	if len(got.results) != 100 || len(got.results[3].GetFindings()) == 0 {
		t.Fatalf("got %d results, want 100", len(got.results))
	}
	wantReason := map[int]string{5: "DIMENSION_MISMATCH", 6: "string.pattern", 7: "SPEC_NOT_FOUND", 8: "UNREADABLE", 9: "NO_REVISION_IN_FORCE"}
	for i, r := range got.results {
		if r.GetIndex() != int64(i) {
			t.Fatalf("result %d has index %d", i, r.GetIndex())
		}
		if reason := wantReason[i%10]; r.GetError().GetReason() != reason {
			t.Errorf("record %d: got error %v, want reason %q", i, r.GetError(), reason)
		} else if reason != "" && (r.GetError().GetMessage() == "" || strings.ContainsAny(r.GetError().GetMessage(), "\n\r")) {
			t.Errorf("record %d: got message %q, want one line", i, r.GetError().GetMessage())
		}
		want := pb.Verdict_VERDICT_ACCEPT
		if i%10 == 3 {
			want = pb.Verdict_VERDICT_REJECT
		}
		if wantReason[i%10] == "" && r.GetVerdict() != want {
			t.Errorf("record %d: got %v, want %v", i, r, want)
		}
	}
	s := got.summary
	if s.GetRecordCount() != 100 || s.GetErrorCount() != 50 || s.GetTotal().GetAcceptedCount() != 40 || s.GetTotal().GetRejectedCount() != 10 {
		t.Errorf("got %d records, %d errors, %v", s.GetRecordCount(), s.GetErrorCount(), s.GetTotal())
	}
	if known := s.GetOptions().GetKnownTime().AsTime(); known.Before(began.Truncate(time.Microsecond)) || known.After(time.Now()) {
		t.Errorf("known time: got %v, want that of the start, %v", known, began)
	}
	if !strings.HasPrefix(strings.ToLower(string(got.report)), "<!doctype html>") {
		t.Errorf("got no report: %.40q", got.report)
	}
	// The same record alone gets the same verdict and findings.
	alone, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: population(4)[3].GetRecord()})
	if err != nil {
		t.Fatal(err)
	}
	for i, f := range alone.GetReport().GetFindings() {
		if g := got.results[3].GetFindings()[i]; g.GetCode() != f.GetCode() || g.GetMessage() != f.GetMessage() {
			t.Errorf("finding %d: got %v, want %v", i, g, f)
		}
	}
}

// From every checkpoint on, results, summary, report and the checkpoints that
// follow are the same to the byte.
func TestAuditGoesOn(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shared.db")
	b := newAuditBench(t, path)
	requests := population(100)
	options := &pb.AuditOptions{CheckpointInterval: 7, HtmlReport: true}
	whole, err := b.audit(t, options, nil, requests)
	if err != nil {
		t.Fatal(err)
	}
	if len(whole.checkpoints) != 15 {
		t.Fatalf("got %d checkpoints, want one for each 7 of 100 and the last", len(whole.checkpoints))
	}
	other := newAuditBench(t, path, withSheets(nil)) // another replica, later
	for i, from := range whole.checkpoints {
		rest, err := other.audit(t, options, &from, requests[from.count:])
		if err != nil {
			t.Fatal(err)
		}
		if !equalAll(rest.results, whole.results[from.count:]) {
			t.Fatalf("from %d: the results differ", from.count)
		}
		if !proto.Equal(rest.summary, whole.summary) || string(rest.report) != string(whole.report) {
			t.Fatalf("from %d: the summary or the report differs", from.count)
		}
		last := rest.checkpoints[len(rest.checkpoints)-1]
		if want := whole.checkpoints[len(whole.checkpoints)-1]; last.count != want.count || string(last.data) != string(want.data) {
			t.Fatalf("from checkpoint %d: the last checkpoint differs", i)
		}
	}
}

func equalAll(a, b []*pb.AuditResult) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if !proto.Equal(a[i], b[i]) {
			return false
		}
	}
	return true
}

// One who waits for each answer before the next record gets it.
func TestAuditAnswersAtOnce(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	stream, err := b.audits.AuditSetups(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if err := stream.Send(startOf(&pb.AuditOptions{})); err != nil {
		t.Fatal(err)
	}
	for i := range 5 {
		if err := stream.Send(recordOf(goodRecord())); err != nil {
			t.Fatal(err)
		}
		resp, err := stream.Recv()
		if err != nil {
			t.Fatal(err)
		}
		if r := resp.GetEvent().GetResults().GetResults(); len(r) != 1 || r[0].GetIndex() != int64(i) {
			t.Fatalf("got %v", resp)
		}
	}
}

// Bytes that are no record are one bad record.
func TestAuditUndecodable(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	raw := []byte{0x1a, 0x03, 0x62, 0x01, 0xff} // record, note, one byte that is not UTF-8
	stream, err := b.conn.NewStream(t.Context(), &grpc.StreamDesc{ClientStreams: true, ServerStreams: true},
		pb.AuditService_AuditSetups_FullMethodName, grpc.ForceCodec(rawSendCodec{}))
	if err != nil {
		t.Fatal(err)
	}
	for _, message := range [][]byte{marshal(t, startOf(&pb.AuditOptions{})), raw, marshal(t, recordOf(goodRecord()))} {
		if err := stream.SendMsg(&message); err != nil {
			t.Fatal(err)
		}
	}
	_ = stream.CloseSend()
	var got told
	for {
		resp := new(pb.AuditSetupsResponse)
		if err := stream.RecvMsg(resp); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		got.take(resp.GetEvent())
	}
	if len(got.results) != 2 || got.results[0].GetError().GetReason() != reasonUnreadable || got.results[1].GetError() != nil {
		t.Errorf("got %v", got.results)
	}
	// In the place of the start, they are no record.
	stream, err = b.conn.NewStream(t.Context(), &grpc.StreamDesc{ClientStreams: true, ServerStreams: true},
		pb.AuditService_AuditSetups_FullMethodName, grpc.ForceCodec(rawSendCodec{}))
	if err != nil {
		t.Fatal(err)
	}
	_ = stream.SendMsg(&raw)
	wantStatus(t, stream.RecvMsg(new(pb.AuditSetupsResponse)), codes.InvalidArgument, reasonRequestUnreadable, "")
}

// rawSendCodec sends bytes as they are, and reads what comes.
type rawSendCodec struct{ rawCodec }

func (rawSendCodec) Unmarshal(data []byte, v any) error {
	return proto.Unmarshal(data, v.(proto.Message))
}

func marshal(t *testing.T, m proto.Message) []byte {
	t.Helper()
	data, err := proto.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func TestAuditRefuses(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	good, err := b.audit(t, &pb.AuditOptions{}, nil, population(10))
	if err != nil {
		t.Fatal(err)
	}
	saved := good.checkpoints[0]
	damaged := savedAudit{saved.count, append([]byte(nil), saved.data...)}
	damaged.data[len(damaged.data)/2] ^= 1
	miscounted := savedAudit{saved.count + 1, saved.data}
	oneRecord := []*pb.AuditSetupsRequest{recordOf(goodRecord())}
	for name, tc := range map[string]struct {
		options  *pb.AuditOptions
		from     *savedAudit
		requests []*pb.AuditSetupsRequest
		code     codes.Code
		reason   string
	}{
		"start twice":        {&pb.AuditOptions{}, nil, []*pb.AuditSetupsRequest{startOf(&pb.AuditOptions{})}, codes.InvalidArgument, reasonAuditOrder},
		"malformed options":  {&pb.AuditOptions{SpecRevision: "rill"}, nil, oneRecord, codes.InvalidArgument, "string.pattern"},
		"unknown revision":   {&pb.AuditOptions{SpecRevision: "specs/nobody/revisions/1"}, nil, oneRecord, codes.NotFound, reasonSpecNotFound},
		"damaged checkpoint": {&pb.AuditOptions{}, &damaged, oneRecord, codes.InvalidArgument, reasonCheckpoint},
		"wrong count":        {&pb.AuditOptions{}, &miscounted, oneRecord, codes.InvalidArgument, reasonCheckpoint},
		"other options":      {&pb.AuditOptions{UnitSystem: pb.UnitSystem_UNIT_SYSTEM_US}, &saved, oneRecord, codes.InvalidArgument, reasonCheckpoint},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := b.audit(t, tc.options, tc.from, tc.requests)
			if st := status.Convert(err); st.Code() != tc.code || !strings.Contains(fmt.Sprint(st.Details()), tc.reason) {
				t.Errorf("got %v %v, want %v with reason %s", err, st.Details(), tc.code, tc.reason)
			}
		})
	}
}

// A caller who goes away ends the audit at once, whatever waits.
func TestAuditCancel(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	if _, err := b.audit(t, &pb.AuditOptions{}, nil, population(5)); err != nil { // there is a connection now
		t.Fatal(err)
	}
	before := runtime.NumGoroutine()
	ctx, cancel := context.WithCancel(t.Context())
	stream, err := b.audits.AuditSetups(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if err := stream.Send(startOf(&pb.AuditOptions{})); err != nil {
		t.Fatal(err)
	}
	for _, r := range population(50) {
		if err := stream.Send(r); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := stream.Recv(); err != nil {
		t.Fatal(err)
	}
	cancel()
	for {
		if _, err := stream.Recv(); err != nil {
			if status.Code(err) != codes.Canceled {
				t.Errorf("got %v, want Canceled", err)
			}
			break
		}
	}
	eventually(t, "its goroutines are gone", func() bool { return runtime.NumGoroutine() <= before })
}

// While nobody takes results, no more records are taken in than a bound.
func TestAuditFlowControl(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	stream, err := b.audits.AuditSetups(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if err := stream.Send(startOf(&pb.AuditOptions{})); err != nil {
		t.Fatal(err)
	}
	var sent atomic.Int64
	const all = 30_000
	go func() {
		for range all {
			if stream.Send(recordOf(goodRecord())) != nil {
				return
			}
			sent.Add(1)
		}
		_ = stream.CloseSend()
	}()
	at := int64(-1)
	eventually(t, "sending stops", func() bool {
		time.Sleep(300 * time.Millisecond)
		was := at
		at = sent.Load()
		return was == at
	})
	if at >= all {
		t.Fatalf("all %d records were taken in while no result was", at)
	}
	got, err := receive(stream.Recv)
	if err != nil || len(got.results) != all {
		t.Errorf("got %d results and %v, want the rest to come", len(got.results), err)
	}
}

// A service that shuts down sends a last checkpoint, with which another one ends
// the audit as if nothing had been.
func TestAuditShutdown(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shared.db")
	b := newAuditBench(t, path)
	other := newAuditBench(t, path, withSheets(nil))
	requests := population(60)
	options := &pb.AuditOptions{KnownTime: timestamppb.Now()}
	whole, err := b.audit(t, options, nil, requests)
	if err != nil {
		t.Fatal(err)
	}
	stream, err := b.audits.AuditSetups(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range append([]*pb.AuditSetupsRequest{startOf(options)}, requests[:40]...) {
		if err := stream.Send(r); err != nil {
			t.Fatal(err)
		}
	}
	var got told
	for len(got.results) < 40 {
		resp, err := stream.Recv()
		if err != nil {
			t.Fatal(err)
		}
		got.take(resp.GetEvent())
	}
	go func() { _ = b.server.Shutdown(context.WithoutCancel(t.Context())) }()
	rest, err := receive(stream.Recv)
	if status.Code(err) != codes.Unavailable || len(rest.checkpoints) != 1 {
		t.Fatalf("got %v and %d checkpoints, want Unavailable after one", err, len(rest.checkpoints))
	}
	from := rest.checkpoints[0]
	ended, err := other.audit(t, options, &from, requests[from.count:])
	if err != nil || !proto.Equal(ended.summary, whole.summary) {
		t.Errorf("got %v and another summary, want that of the whole", err)
	}
}

// A fault of the service costs one record and not the audit.
func TestAuditJudgePanics(t *testing.T) {
	check, err := newValidator()
	if err != nil {
		t.Fatal(err)
	}
	j := &auditJudge{sheets: &sheets{log: slog.New(slog.DiscardHandler)}, check: check} // no catalogue to ask
	one := task{record: goodRecord()}
	j.judge(t.Context(), &one)
	if one.err != nil || one.entry == nil {
		t.Fatalf("got %v and %v, want an entry", one.entry, one.err)
	}
	a := audit.New(&pb.AuditOptions{}, gauge.Version)
	if got := a.Add(one.entry).GetError().GetReason(); got != reasonNotJudged {
		t.Errorf("got %s, want %s", got, reasonNotJudged)
	}
}

// The same records give the same bytes, whichever processor judges which.
func TestAuditIsDeterministic(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	options := &pb.AuditOptions{KnownTime: timestamppb.Now(), HtmlReport: true}
	requests := population(300)
	var first []byte
	for range 4 {
		got, err := b.audit(t, options, nil, requests)
		if err != nil {
			t.Fatal(err)
		}
		var all bytes.Buffer
		for _, r := range got.results {
			all.Write(deterministic(t, r))
		}
		all.Write(deterministic(t, got.summary))
		all.Write(got.report)
		all.Write(got.checkpoints[len(got.checkpoints)-1].data)
		if first == nil {
			first = all.Bytes()
		} else if !bytes.Equal(first, all.Bytes()) {
			t.Fatal("got other bytes than the time before")
		}
	}
}

func deterministic(t *testing.T, m proto.Message) []byte {
	t.Helper()
	data, err := proto.MarshalOptions{Deterministic: true}.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// An audit is one line of the log, and its records are counted apart from those that
// are judged one by one.
func TestAuditIsTold(t *testing.T) {
	var log syncBuffer
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"), withLog(slog.New(slog.NewTextHandler(&log, nil))))
	if _, err := b.audit(t, &pb.AuditOptions{CheckpointInterval: 10}, nil, population(20)); err != nil {
		t.Fatal(err)
	}
	for result, want := range map[string]float64{auditJudged: 10, auditError: 10} {
		if got := b.counter(t, "snapgauge_audit_records_total", result); got != want {
			t.Errorf("%s: got %v records, want %v", result, got, want)
		}
	}
	if got := b.counter(t, "snapgauge_verdicts_total", "ACCEPT"); got != 0 {
		t.Errorf("got %v verdicts, want none counted", got)
	}
	eventually(t, "the line", func() bool { return strings.Contains(log.String(), "msg=call") })
	if got := log.String(); strings.Count(got, "\n") != 1 || !strings.Contains(got, "records=20") || !strings.Contains(got, "took=") {
		t.Errorf("got %s, want one line with how many records and how long", got)
	}
}

// A finished audit sends each checkpoint once.
func TestAuditCheckpointsOnce(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	stream, err := b.audits.AuditSetups(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range append([]*pb.AuditSetupsRequest{startOf(&pb.AuditOptions{CheckpointInterval: 5})}, population(10)...) {
		_ = stream.Send(r)
	}
	_ = stream.CloseSend()
	var at []int64
	for {
		resp, err := stream.Recv()
		if err != nil {
			break
		}
		if c := resp.GetEvent().GetCheckpoint(); c.GetLast() {
			at = append(at, c.GetRecordCount())
		}
	}
	if fmt.Sprint(at) != "[5 10]" {
		t.Errorf("got checkpoints at %v, want 5 and 10", at)
	}
}
