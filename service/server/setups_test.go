package server

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func TestValidateSetup(t *testing.T) {
	b := newBench(t)
	after := timestamppb.New(time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC))
	for name, tc := range map[string]struct {
		req      *pb.ValidateSetupRequest
		verdict  pb.Verdict
		revision string
		codes    []pb.FindingCode
		outcomes bool
	}{
		"good": {
			req:      &pb.ValidateSetupRequest{Record: goodRecord()},
			verdict:  pb.Verdict_VERDICT_ACCEPT,
			revision: "specs/rill-125-2026-eu/revisions/1",
		},
		"alias and maker": {
			req: &pb.ValidateSetupRequest{Record: with(func(r *pb.SetupRecord) { r.Unit.Model = "quillback rill" })},

			verdict:  pb.Verdict_VERDICT_ACCEPT,
			revision: "specs/rill-125-2026-eu/revisions/1",
		},
		"judged by a later day": {
			req: &pb.ValidateSetupRequest{
				Record:   with(func(r *pb.SetupRecord) { r.Readings[0].Result = &pb.Reading_Value{Value: 36} }),
				AsOfTime: after,
			},
			verdict:  pb.Verdict_VERDICT_REJECT,
			revision: "specs/rill-125-2026-eu/revisions/2",
			codes:    []pb.FindingCode{pb.FindingCode_FINDING_CODE_BELOW_LOWER_LIMIT},
		},
		"missing reading": {
			req: &pb.ValidateSetupRequest{
				Record: with(func(r *pb.SetupRecord) { r.Readings = r.Readings[:4] }),
				View:   pb.ReportView_REPORT_VIEW_FULL,
			},
			verdict:  pb.Verdict_VERDICT_INCOMPLETE,
			revision: "specs/rill-125-2026-eu/revisions/1",
			codes:    []pb.FindingCode{pb.FindingCode_FINDING_CODE_MISSING_READING},
			outcomes: true,
		},
	} {
		t.Run(name, func(t *testing.T) {
			resp, err := b.setups.ValidateSetup(t.Context(), tc.req)
			if err != nil {
				t.Fatal(err)
			}
			report := resp.GetReport()
			if report.GetVerdict() != tc.verdict || report.GetSpecRevision() != tc.revision {
				t.Errorf("got %v by %s, want %v by %s", report.GetVerdict(), report.GetSpecRevision(), tc.verdict, tc.revision)
			}
			var got []pb.FindingCode
			for _, f := range report.GetFindings() {
				got = append(got, f.GetCode())
			}
			if fmt.Sprint(got) != fmt.Sprint(tc.codes) {
				t.Errorf("got codes %v, want %v", got, tc.codes)
			}
			if (len(report.GetOutcomes()) > 0) != tc.outcomes {
				t.Errorf("got %d outcomes, want some: %v", len(report.GetOutcomes()), tc.outcomes)
			}
		})
	}
	if n := b.stored(t); n != 0 {
		t.Errorf("ValidateSetup stored %d setups", n)
	}
}

func TestUnitSystem(t *testing.T) {
	b := newBench(t)
	tight := with(func(r *pb.SetupRecord) { r.Readings[0].Result = &pb.Reading_Value{Value: 20} })
	texts := map[pb.UnitSystem]string{}
	for _, system := range []pb.UnitSystem{
		pb.UnitSystem_UNIT_SYSTEM_UNSPECIFIED, pb.UnitSystem_UNIT_SYSTEM_METRIC, pb.UnitSystem_UNIT_SYSTEM_US,
	} {
		resp, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: tight, UnitSystem: system})
		if err != nil {
			t.Fatal(err)
		}
		texts[system] = resp.GetReport().GetFindings()[0].GetMessage()
	}
	metric := texts[pb.UnitSystem_UNIT_SYSTEM_METRIC]
	if texts[pb.UnitSystem_UNIT_SYSTEM_UNSPECIFIED] != metric || !strings.Contains(metric, "mm") {
		t.Errorf("got %q, want millimetres unless asked otherwise", texts)
	}
	if us := texts[pb.UnitSystem_UNIT_SYSTEM_US]; strings.Contains(us, "mm") {
		t.Errorf("got %q, want inches", us)
	}
}

// The same record gives the same bytes, in whatever order its readings stand.
func TestValidateSetupIsDeterministic(t *testing.T) {
	b := newBench(t)
	record := with(func(r *pb.SetupRecord) {
		r.Readings[0].Result = &pb.Reading_Value{Value: 20}
		r.Readings[1].Result = &pb.Reading_Value{Value: 200}
		r.Readings[4].Result = &pb.Reading_Pass{}
		r.Options = []string{"hand_guards", "heated_guards", "bar_muffs"}
	})
	var first []byte
	random := rand.New(rand.NewPCG(1, 2))
	for range 20 {
		resp, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: record, View: pb.ReportView_REPORT_VIEW_FULL})
		if err != nil {
			t.Fatal(err)
		}
		bytes, err := proto.MarshalOptions{Deterministic: true}.Marshal(resp)
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = bytes
		}
		if string(bytes) != string(first) {
			t.Fatal("the order of the readings changed the report")
		}
		random.Shuffle(len(record.Readings), func(i, j int) {
			record.Readings[i], record.Readings[j] = record.Readings[j], record.Readings[i]
		})
		random.Shuffle(len(record.Options), func(i, j int) {
			record.Options[i], record.Options[j] = record.Options[j], record.Options[i]
		})
	}
}

// Every way for a record to be refused, with the same answer to be validated and
// submitted, and nothing stored.
func TestRecordsRefused(t *testing.T) {
	b := newBench(t)
	value := func(v float64) *pb.Reading_Value { return &pb.Reading_Value{Value: v} }
	for name, tc := range map[string]struct {
		change func(*pb.SetupRecord)
		code   codes.Code
		reason string
		field  string
	}{
		// The constraints of the contract.
		"no unit":           {func(r *pb.SetupRecord) { r.Unit = nil }, codes.InvalidArgument, "required", "record.unit"},
		"no finish time":    {func(r *pb.SetupRecord) { r.FinishTime = nil }, codes.InvalidArgument, "required", "record.finish_time"},
		"no phase":          {func(r *pb.SetupRecord) { r.Phase = 0 }, codes.InvalidArgument, "required", "record.phase"},
		"unknown phase":     {func(r *pb.SetupRecord) { r.Phase = 77 }, codes.InvalidArgument, "enum.defined_only", "record.phase"},
		"shop in capitals":  {func(r *pb.SetupRecord) { r.Shop = "North" }, codes.InvalidArgument, "string.pattern", "record.shop"},
		"NaN":               {func(r *pb.SetupRecord) { r.Readings[2].Result = value(math.NaN()) }, codes.InvalidArgument, "double.finite", "record.readings[2].value"},
		"infinite":          {func(r *pb.SetupRecord) { r.Readings[2].Result = value(math.Inf(-1)) }, codes.InvalidArgument, "double.finite", "record.readings[2].value"},
		"negative hours":    {func(r *pb.SetupRecord) { r.Unit.Hours = proto.Float64(-1) }, codes.InvalidArgument, "double.gte", "record.unit.hours"},
		"NaN hours":         {func(r *pb.SetupRecord) { r.Unit.Hours = proto.Float64(math.NaN()) }, codes.InvalidArgument, "double.finite", "record.unit.hours"},
		"negative accuracy": {func(r *pb.SetupRecord) { r.Readings[0].ExpandedUncertainty = proto.Float64(-0.1) }, codes.InvalidArgument, "double.gt", "record.readings[0].expanded_uncertainty"},
		"option twice":      {func(r *pb.SetupRecord) { r.Options = []string{"a", "a"} }, codes.InvalidArgument, "repeated.unique", "record.options"},
		"bad supersedes":    {func(r *pb.SetupRecord) { r.Supersedes = "that one" }, codes.InvalidArgument, "string.pattern", "record.supersedes"},
		"too many readings": {func(r *pb.SetupRecord) {
			for range 1024 {
				r.Readings = append(r.Readings, &pb.Reading{Characteristic: "chain_slack"})
			}
		}, codes.InvalidArgument, "repeated.max_items", "record.readings"},
		"time that is none": {func(r *pb.SetupRecord) { r.Readings[1].Time = &timestamppb.Timestamp{Nanos: -5} }, codes.InvalidArgument, reasonTimeInvalid, "record.readings[1].time"},
		"finish after year 9999": {func(r *pb.SetupRecord) { r.FinishTime = &timestamppb.Timestamp{Seconds: math.MaxInt64} },
			codes.InvalidArgument, reasonTimeInvalid, "record.finish_time"},
		"calibration that is no time": {func(r *pb.SetupRecord) {
			r.Instruments = []*pb.Instrument{{Id: "rule", CalibrationExpireTime: &timestamppb.Timestamp{Seconds: math.MinInt64}}}
		}, codes.InvalidArgument, reasonTimeInvalid, "record.instruments[0].calibration_expire_time"},

		// What only the sheet can show.
		"unknown unit":    {func(r *pb.SetupRecord) { r.Readings[0].Unit = "furlongz" }, codes.InvalidArgument, "UNIT_UNKNOWN", "record.readings[0].unit"},
		"no unit there":   {func(r *pb.SetupRecord) { r.Readings[1].Unit = "" }, codes.InvalidArgument, "UNIT_MISSING", "record.readings[1].value"},
		"wrong dimension": {func(r *pb.SetupRecord) { r.Readings[0].Unit = "kPa" }, codes.InvalidArgument, "DIMENSION_MISMATCH", "record.readings[0].unit"},
		"negative volume": {func(r *pb.SetupRecord) { r.Readings[2].Result = value(-600) }, codes.InvalidArgument, "NEGATIVE_QUANTITY", "record.readings[2].value"},
		"number for an inspection": {func(r *pb.SetupRecord) { r.Readings[4].Result = value(1) },
			codes.InvalidArgument, "RESULT_KIND_MISMATCH", "record.readings[4].value"},
		"instrument twice": {func(r *pb.SetupRecord) {
			r.Instruments = []*pb.Instrument{{Id: "rule"}, {Id: "rule"}}
		}, codes.InvalidArgument, "DUPLICATE_INSTRUMENT", "record.instruments[1].id"},

		// The sheet that is not there.
		"unknown model":  {func(r *pb.SetupRecord) { r.Unit.Model = "Rlil 125" }, codes.NotFound, reasonSpecNotFound, ""},
		"unknown year":   {func(r *pb.SetupRecord) { r.Unit.ModelYear = 2011 }, codes.NotFound, reasonSpecNotFound, ""},
		"unknown market": {func(r *pb.SetupRecord) { r.Unit.Market = "BR" }, codes.NotFound, reasonSpecNotFound, ""},
		"before its time": {func(r *pb.SetupRecord) {
			r.FinishTime = timestamppb.New(time.Date(2024, 1, 1, 0, 0, 0, 0, time.UTC))
		}, codes.FailedPrecondition, reasonNoRevisionInForce, ""},
	} {
		t.Run(name, func(t *testing.T) {
			record := with(tc.change)
			_, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: record})
			wantStatus(t, err, tc.code, tc.reason, tc.field)
			_, err = b.setups.SubmitSetup(t.Context(), &pb.SubmitSetupRequest{Record: record, RequestId: uuid.NewString()})
			wantStatus(t, err, tc.code, tc.reason, tc.field)
		})
	}
	if n := b.stored(t); n != 0 {
		t.Errorf("refused submits stored %d setups", n)
	}
}

func TestNotFoundSuggests(t *testing.T) {
	b := newBench(t)
	_, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: with(func(r *pb.SetupRecord) { r.Unit.Model = "Rlil 125" })})
	st := wantStatus(t, err, codes.NotFound, reasonSpecNotFound, "")
	if text := fmt.Sprint(st.Message(), st.Details()); strings.Count(text, "Rill 125") < 2 {
		t.Errorf("got %s, want the near name in message and metadata", text)
	}
}

// However much is wrong, the trailer stays small enough for any client.
func TestManyViolations(t *testing.T) {
	b := newBench(t)
	record := with(func(r *pb.SetupRecord) {
		for range 1000 {
			r.Readings = append(r.Readings, &pb.Reading{
				Characteristic: "chain_slack", Unit: strings.Repeat("é", 16), Result: &pb.Reading_Value{Value: math.NaN()},
			})
		}
	})
	_, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: record})
	st := wantStatus(t, err, codes.InvalidArgument, "double.finite", "record.readings[5].value")
	if size := proto.Size(st.Proto()); size > 5<<10 {
		t.Errorf("status has %d bytes", size)
	}
	if !strings.Contains(st.Message(), "and 999 more") {
		t.Errorf("got %q, want the number of violations", st.Message())
	}
}

func TestSubmitSetup(t *testing.T) {
	b := newBench(t)
	record := with(func(r *pb.SetupRecord) {
		r.Expectation = &pb.Expectation{Verdict: pb.Verdict_VERDICT_REJECT}
		r.Instruments = []*pb.Instrument{{Id: "rule"}}
	})
	setup := b.submit(t, record)
	if !regexp.MustCompile(`^setups/[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$`).MatchString(setup.GetName()) {
		t.Errorf("got name %q, want a UUIDv7 in lower case", setup.GetName())
	}
	if !setup.GetCreateTime().AsTime().Equal(testNow) {
		t.Errorf("got create time %v, want %v", setup.GetCreateTime().AsTime(), testNow)
	}
	if setup.GetReport().GetVerdict() != pb.Verdict_VERDICT_ACCEPT || setup.GetReport().GetDigest() == "" {
		t.Errorf("got report %v", setup.GetReport())
	}
	record.Expectation = nil
	if !proto.Equal(setup.GetRecord(), record) {
		t.Errorf("got record %v, want %v", setup.GetRecord(), record)
	}

	for _, tc := range []struct {
		view  pb.SetupView
		basic bool
	}{
		{pb.SetupView_SETUP_VIEW_UNSPECIFIED, false},
		{pb.SetupView_SETUP_VIEW_FULL, false},
		{pb.SetupView_SETUP_VIEW_BASIC, true},
	} {
		got, err := b.setups.GetSetup(t.Context(), &pb.GetSetupRequest{Name: setup.GetName(), View: tc.view})
		if err != nil {
			t.Fatal(err)
		}
		want := proto.CloneOf(setup)
		if tc.basic {
			want.Record.Readings, want.Record.Instruments = nil, nil
		}
		if !proto.Equal(got.GetSetup(), want) {
			t.Errorf("%v: got %v, want %v", tc.view, got.GetSetup(), want)
		}
	}
}

func TestSubmitAgain(t *testing.T) {
	b := newBench(t)
	req := &pb.SubmitSetupRequest{Record: goodRecord(), RequestId: "0190A0F0-0000-7000-8000-00000000ABCD"}
	first, err := b.setups.SubmitSetup(t.Context(), req)
	if err != nil {
		t.Fatal(err)
	}
	again := proto.CloneOf(req)
	again.RequestId = strings.ToLower(again.RequestId)
	again.UnitSystem = pb.UnitSystem_UNIT_SYSTEM_US
	second, err := b.setups.SubmitSetup(t.Context(), again)
	if err != nil {
		t.Fatal(err)
	}
	if !proto.Equal(first, second) || b.stored(t) != 1 {
		t.Errorf("got %v and %d setups, want %v and one", second, b.stored(t), first)
	}
	other := proto.CloneOf(req)
	other.Record.Note = "another"
	_, err = b.setups.SubmitSetup(t.Context(), other)
	wantStatus(t, err, codes.AlreadyExists, reasonRequestIDReused, "")
	if n := b.stored(t); n != 1 {
		t.Errorf("got %d setups, want one", n)
	}

	_, err = b.setups.SubmitSetup(t.Context(), &pb.SubmitSetupRequest{Record: goodRecord()})
	wantStatus(t, err, codes.InvalidArgument, "required", "request_id")
	_, err = b.setups.SubmitSetup(t.Context(), &pb.SubmitSetupRequest{Record: goodRecord(), RequestId: "again"})
	wantStatus(t, err, codes.InvalidArgument, "string.uuid", "request_id")
	_, err = b.setups.SubmitSetup(t.Context(), &pb.SubmitSetupRequest{RequestId: uuid.NewString()})
	wantStatus(t, err, codes.InvalidArgument, "required", "record")
}

func TestSupersede(t *testing.T) {
	b := newBench(t)
	first := b.submit(t, goodRecord())
	correction := with(func(r *pb.SetupRecord) { r.Supersedes = first.GetName() })
	second := b.submit(t, correction)
	got, err := b.setups.GetSetup(t.Context(), &pb.GetSetupRequest{Name: first.GetName()})
	if err != nil {
		t.Fatal(err)
	}
	if got.GetSetup().GetSupersededBy() != second.GetName() {
		t.Errorf("got superseded by %q, want %q", got.GetSetup().GetSupersededBy(), second.GetName())
	}
	_, err = b.setups.SubmitSetup(t.Context(), &pb.SubmitSetupRequest{Record: correction, RequestId: uuid.NewString()})
	wantStatus(t, err, codes.FailedPrecondition, reasonAlreadySuperseded, "")
	missing := with(func(r *pb.SetupRecord) { r.Supersedes = "setups/not-there" })
	_, err = b.setups.SubmitSetup(t.Context(), &pb.SubmitSetupRequest{Record: missing, RequestId: uuid.NewString()})
	wantStatus(t, err, codes.FailedPrecondition, reasonSupersedesNotStored, "")
	if n := b.stored(t); n != 2 {
		t.Errorf("got %d setups, want 2", n)
	}
}

func TestGetSetupRefused(t *testing.T) {
	b := newBench(t)
	_, err := b.setups.GetSetup(t.Context(), &pb.GetSetupRequest{Name: "setups/not-there"})
	wantStatus(t, err, codes.NotFound, reasonSetupNotFound, "")
	_, err = b.setups.GetSetup(t.Context(), &pb.GetSetupRequest{Name: "specs/x"})
	wantStatus(t, err, codes.InvalidArgument, "string.pattern", "name")
	_, err = b.setups.GetSetup(t.Context(), &pb.GetSetupRequest{})
	wantStatus(t, err, codes.InvalidArgument, "required", "name")
	_, err = b.setups.GetSetup(t.Context(), &pb.GetSetupRequest{Name: "setups/x", View: 9})
	wantStatus(t, err, codes.InvalidArgument, "enum.defined_only", "view")
}

func TestListSetups(t *testing.T) {
	b := newBench(t)
	var names []string // newest first
	for i := range 2*firstStep + 3 {
		setup := b.submit(t, with(func(r *pb.SetupRecord) {
			r.Note = fmt.Sprint(i)
			r.Instruments = []*pb.Instrument{{Id: "rule"}}
			if i%2 == 1 {
				r.Shop = "south"
			}
		}))
		names = append([]string{setup.GetName()}, names...)
	}
	list := func(req *pb.ListSetupsRequest) (got []string, pages int) {
		t.Helper()
		for {
			resp, err := b.setups.ListSetups(t.Context(), req)
			if err != nil {
				t.Fatal(err)
			}
			pages++
			for _, s := range resp.GetSetups() {
				got = append(got, s.GetName())
				full := req.GetView() == pb.SetupView_SETUP_VIEW_FULL
				if (len(s.GetRecord().GetReadings()) > 0) != full || (len(s.GetRecord().GetInstruments()) > 0) != full {
					t.Errorf("%v: got readings or instruments in %v", req.GetView(), s)
				}
			}
			req.PageToken = resp.GetNextPageToken()
			if req.PageToken == "" {
				return got, pages
			}
		}
	}
	for _, view := range []pb.SetupView{0, pb.SetupView_SETUP_VIEW_BASIC, pb.SetupView_SETUP_VIEW_FULL} {
		for _, size := range []int{0, 1, firstStep, firstStep + 1, 2 * firstStep, len(names), 1000} {
			got, pages := list(&pb.ListSetupsRequest{PageSize: int32(size), View: view})
			wantPages := 1
			if size > 0 {
				wantPages = (len(names) + size - 1) / size
			}
			if !slices.Equal(got, names) || pages != wantPages {
				t.Errorf("%v, %d a page: got %v in %d pages, want %v in %d", view, size, got, pages, names, wantPages)
			}
		}
	}
	got, _ := list(&pb.ListSetupsRequest{PageSize: 2, Filter: `shop = "south" AND verdict = ACCEPT`})
	var want []string
	for i := 1; i < len(names); i += 2 {
		want = append(want, names[i])
	}
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// A page of large records is cut before it is more than clients take.
func TestListSetupsCutsLargePages(t *testing.T) {
	b := newBench(t)
	for i := range 3 {
		b.submit(t, with(func(r *pb.SetupRecord) {
			r.Note = fmt.Sprint(i)
			for range 1000 {
				r.Readings = append(r.Readings, &pb.Reading{Characteristic: "chain_slack", Note: strings.Repeat("x", 1024)})
			}
		}))
	}
	req := &pb.ListSetupsRequest{View: pb.SetupView_SETUP_VIEW_FULL}
	seen := 0
	for pages := 1; ; pages++ {
		resp, err := b.setups.ListSetups(t.Context(), req)
		if err != nil {
			t.Fatal(err)
		}
		if len(resp.GetSetups()) == 0 || proto.Size(resp) > 4<<20 {
			t.Errorf("page %d: got %d setups in %d bytes", pages, len(resp.GetSetups()), proto.Size(resp))
		}
		seen += len(resp.GetSetups())
		if req.PageToken = resp.GetNextPageToken(); req.PageToken == "" || pages > 3 {
			break
		}
	}
	if seen != 3 {
		t.Errorf("got %d setups, want 3", seen)
	}
}

func TestListSetupsRefused(t *testing.T) {
	b := newBench(t)
	for range 3 {
		b.submit(t, goodRecord())
	}
	page, err := b.setups.ListSetups(t.Context(), &pb.ListSetupsRequest{PageSize: 1})
	if err != nil {
		t.Fatal(err)
	}
	for name, tc := range map[string]struct {
		req           *pb.ListSetupsRequest
		reason, field string
	}{
		"token":              {&pb.ListSetupsRequest{PageToken: "nonsense"}, reasonPageTokenInvalid, "page_token"},
		"token other filter": {&pb.ListSetupsRequest{PageToken: page.GetNextPageToken(), Filter: `shop = "x"`}, reasonPageTokenInvalid, "page_token"},
		"filter syntax":      {&pb.ListSetupsRequest{Filter: "shop ="}, reasonFilterInvalid, "filter"},
		"filter field":       {&pb.ListSetupsRequest{Filter: `colour = "red"`}, reasonFilterInvalid, "filter"},
		"filter too long":    {&pb.ListSetupsRequest{Filter: strings.Repeat("x", 1025)}, "string.max_len", "filter"},
		"page size":          {&pb.ListSetupsRequest{PageSize: 1001}, "int32.gte_lte", "page_size"},
		"negative page size": {&pb.ListSetupsRequest{PageSize: -1}, "int32.gte_lte", "page_size"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := b.setups.ListSetups(t.Context(), tc.req)
			wantStatus(t, err, codes.InvalidArgument, tc.reason, tc.field)
		})
	}
}

// Many callers at once, some repeating the same request.
func TestConcurrentCalls(t *testing.T) {
	b := newBench(t)
	const callers, each = 8, 25
	var group sync.WaitGroup
	for caller := range callers {
		group.Go(func() {
			for i := range each {
				record := goodRecord()
				record.Shop = fmt.Sprintf("shop-%d", caller/2) // two callers share the requests of a shop
				record.Note = fmt.Sprint(i)
				id := uuid.NewSHA1(uuid.NameSpaceOID, []byte(record.Shop+record.Note)).String()
				if _, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: record}); err != nil {
					t.Error(err)
				}
				if _, err := b.setups.SubmitSetup(t.Context(), &pb.SubmitSetupRequest{Record: record, RequestId: id}); err != nil {
					t.Error(err)
				}
				if i%5 == 0 {
					if _, err := b.setups.ListSetups(t.Context(), &pb.ListSetupsRequest{PageSize: 5}); err != nil {
						t.Error(err)
					}
				}
			}
		})
	}
	group.Wait()
	if n, want := b.stored(t), callers/2*each; n != want {
		t.Errorf("got %d setups, want %d", n, want)
	}
}

// A set-up that is finished tomorrow is handed in tomorrow: the sheet of that day
// is not known yet.
func TestSubmitSetupFromTheFuture(t *testing.T) {
	b := newBench(t)
	ahead := with(func(r *pb.SetupRecord) {
		r.FinishTime = timestamppb.New(testNow.Add(maxAhead + time.Hour))
	})
	_, err := b.setups.SubmitSetup(t.Context(), &pb.SubmitSetupRequest{Record: ahead, RequestId: uuid.NewString()})
	wantStatus(t, err, codes.InvalidArgument, reasonTimeInvalid, "record.finish_time")
	if _, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: ahead}); err != nil {
		t.Errorf("validating it, which keeps nothing: %v", err)
	}
}

// Every time stamp of every request is looked at, however deep it lies.
func TestTimesOfAnyRequest(t *testing.T) {
	wrong := &timestamppb.Timestamp{Seconds: 1 << 60}
	for want, request := range map[string]proto.Message{
		"as_of_time":                                    &pb.PlanSetupRequest{AsOfTime: wrong},
		"known_time":                                    &pb.ValidateSetupRequest{Record: goodRecord(), KnownTime: wrong},
		"plan.as_of_time":                               &pb.RenderSheetRequest{Subject: &pb.RenderSheetRequest_Plan{Plan: &pb.PlanSetupRequest{AsOfTime: wrong}}},
		"examples[0].readings[0].time":                  &pb.SpecSheet{Examples: []*pb.SetupRecord{{Readings: []*pb.Reading{{Time: wrong}}}}},
		"record.readings[0].time":                       &pb.SubmitSetupRequest{Record: &pb.SetupRecord{Readings: []*pb.Reading{{Time: wrong}}}},
		"bulletins[1].effective_time":                   &pb.SpecSheet{Bulletins: []*pb.Bulletin{{}, {EffectiveTime: wrong}}},
		"sheet.effective_time":                          &pb.SheetFile{Content: &pb.SheetFile_Sheet{Sheet: &pb.SpecSheet{EffectiveTime: wrong}}},
		"record.instruments[0].calibration_expire_time": &pb.ValidateSetupRequest{Record: &pb.SetupRecord{Instruments: []*pb.Instrument{{CalibrationExpireTime: wrong}}}},
	} {
		var bad *fieldError
		if err := checkTimes(request); !errors.As(err, &bad) || bad.violations[0].field != want {
			t.Errorf("got %v, want a violation of %s", err, want)
		}
	}
}

// A correction may mend a mistyped VIN, and may not hide another machine's record.
func TestSupersedesOtherUnit(t *testing.T) {
	b := newBench(t)
	first := b.submit(t, with(func(*pb.SetupRecord) {}))
	typed := []byte(first.GetRecord().GetUnit().GetVin())
	correct := func(change func(*pb.Unit)) error {
		record := with(func(r *pb.SetupRecord) {
			r.Supersedes = first.GetName()
			change(r.Unit)
		})
		_, err := b.setups.SubmitSetup(t.Context(), &pb.SubmitSetupRequest{Record: record, RequestId: uuid.NewString()})
		return err
	}
	err := correct(func(u *pb.Unit) { u.Vin = "0VBZZ9999ZZ999999" })
	wantStatus(t, err, codes.InvalidArgument, reasonSupersedesOther, "record.supersedes")
	last := len(typed) - 1
	typed[last], typed[last-1] = typed[last-1], typed[last]
	if err := correct(func(u *pb.Unit) { u.Vin = string(typed) }); err != nil {
		t.Errorf("two characters the other way round: %v", err)
	}
}
