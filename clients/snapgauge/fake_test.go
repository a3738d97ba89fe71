package main

import (
	"bytes"
	"context"
	"net"
	"strings"
	"sync"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/protoadapt"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// fake is a server that knows one machine. It judges by two readings and keeps
// the last request of each kind.
type fake struct {
	pb.UnimplementedSetupServiceServer
	pb.UnimplementedSpecServiceServer
	pb.UnimplementedWorkshopServiceServer
	address string

	mu       sync.Mutex
	validate *pb.ValidateSetupRequest
	submit   *pb.SubmitSetupRequest
	lookUp   *pb.LookUpCharacteristicsRequest
	plan     *pb.PlanSetupRequest
	render   *pb.RenderSheetRequest
	calc     *pb.CalculateRequest
	getSpec  *pb.GetSpecRequest
	publish  []*pb.PublishSpecRequest // all of them
	diff     *pb.DiffSpecsRequest
	options  *pb.CheckOptionsRequest
	affected []*pb.ListAffectedSetupsRequest // all of them
	watch    *pb.WatchSpecsRequest
	// refusePublish is what PublishSpec answers, where given.
	refusePublish error
	watches       int // how often changes were asked for
	// watchDies, where given, is what the stream of changes does in its stead.
	watchDies func(call int, token string, stream grpc.ServerStreamingServer[pb.WatchSpecsResponse]) error
	draft     *pb.SpecDraft
	etag      string  // of the newest revision; empty for the usual one
	crowded   bool    // the server has room to list one fault only
	ends      error   // how the stream of changes ends; nil where it goes on
	fileName  string  // of a sheet; empty for the usual one
	pages     []int32 // page sizes asked for
	stored    int     // how many set-ups there are to list
	fail      error   // what every call answers, where given
}

func newFake(t *testing.T) *fake {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	f := &fake{address: listener.Addr().String()}
	server := grpc.NewServer(grpc.UnaryInterceptor(func(ctx context.Context, req any, _ *grpc.UnaryServerInfo, next grpc.UnaryHandler) (any, error) {
		if f.fail != nil {
			return nil, f.fail
		}
		return next(ctx, req)
	}))
	pb.RegisterSetupServiceServer(server, f)
	pb.RegisterSpecServiceServer(server, f)
	pb.RegisterWorkshopServiceServer(server, f)
	go func() { _ = server.Serve(listener) }()
	t.Cleanup(server.Stop)
	return f
}

// cli runs a command line against the fake.
func (f *fake) cli(t *testing.T, args ...string) (code int, out, errs string) {
	t.Helper()
	return run(t, world{env: map[string]string{"SNAPGAUGE_SERVER": f.address}}, args...)
}

// world is what a command line finds outside.
type world struct {
	env   map[string]string
	stdin string
	width int // of the terminal; nought for none
}

var testTime = time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)

func run(t *testing.T, w world, args ...string) (code int, out, errs string) {
	t.Helper()
	var stdout, stderr bytes.Buffer
	a := &app{
		in: strings.NewReader(w.stdin), out: &stdout, err: &stderr,
		env:      func(name string) string { return w.env[name] },
		now:      func() time.Time { return testTime },
		terminal: func() (int, bool) { return w.width, w.width > 0 },
	}
	code = a.run(t.Context(), args)
	return code, stdout.String(), stderr.String()
}

func withDetails(code codes.Code, message string, details ...protoadapt.MessageV1) error {
	s, err := status.New(code, message).WithDetails(details...)
	if err != nil {
		panic(err)
	}
	return s.Err()
}

const revisionName = "specs/ulverdale-causeway-400-2026-us/revisions/2"

func (f *fake) report(r *pb.SetupRecord) (*pb.Report, error) {
	if r.GetUnit().GetModel() != "Causeway 400" {
		return nil, withDetails(codes.NotFound, "no sheet covers Nonesuch 2026 US",
			&errdetails.ErrorInfo{Reason: "SPEC_NOT_FOUND", Domain: "snapgauge", Metadata: map[string]string{"suggestions": "Causeway 400"}})
	}
	bad := &errdetails.BadRequest{}
	if r.GetShop() == "" {
		bad.FieldViolations = append(bad.FieldViolations, &errdetails.BadRequest_FieldViolation{
			Field: "record.shop", Description: "value is required", Reason: "required"})
	}
	report := &pb.Report{SpecRevision: revisionName, Verdict: pb.Verdict_VERDICT_ACCEPT, Tally: &pb.Tally{Conforming: 2}}
	for i, reading := range r.GetReadings() {
		if reading.GetUnit() == "furlong" {
			bad.FieldViolations = append(bad.FieldViolations, &errdetails.BadRequest_FieldViolation{
				Field: "record.readings[" + string(rune('0'+i)) + "].unit", Description: `got "furlong", want a unit of torque`, Reason: "UNIT_UNKNOWN"})
		}
		if reading.GetCharacteristic() == "engine_oil_fill" && reading.GetValue() > 1.3 {
			report.Verdict = pb.Verdict_VERDICT_REJECT
			report.Tally = &pb.Tally{Conforming: 1, Nonconforming: 1}
			report.Findings = []*pb.Finding{{
				Code: pb.FindingCode_FINDING_CODE_FILL_ABOVE_SAFE_LEVEL, Severity: pb.Severity_SEVERITY_DAMAGE, Effect: pb.Verdict_VERDICT_REJECT,
				Characteristic: "engine_oil_fill", DisplayName: "Engine oil fill", FieldPath: `readings["engine_oil_fill"].value`,
				Message:  "Engine oil fill is 1.56 L; above 1.3 L it overflows when the machine leans on its stand.",
				Measured: &pb.DualQuantity{MetricValue: 1.56, MetricUnit: "L", UsValue: 1.64842, UsUnit: "[qt_us]"},
				Limit:    &pb.DualQuantity{MetricValue: 1.3, MetricUnit: "L", UsValue: 1.37368, UsUnit: "[qt_us]"},
				Excess:   &pb.DualQuantity{MetricValue: 0.26, MetricUnit: "L", UsValue: 0.274737, UsUnit: "[qt_us]"},
				Remedy:   &pb.Remedy{Action: pb.RemedyAction_REMEDY_ACTION_DRAIN, Text: "Drain 310 mL, down to 1.25 L."},
				Source:   "Invented demo data, workshop handbook 4.2", SpecRevision: revisionName,
			}}
		}
	}
	if len(bad.GetFieldViolations()) > 0 {
		return nil, withDetails(codes.InvalidArgument, "bad record", bad)
	}
	if r.GetTechnician() == "refer" {
		report.Verdict = pb.Verdict_VERDICT_REFER
	}
	return report, nil
}

func (f *fake) ValidateSetup(_ context.Context, r *pb.ValidateSetupRequest) (*pb.ValidateSetupResponse, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.validate = r
	report, err := f.report(r.GetRecord())
	if err != nil {
		return nil, err
	}
	return &pb.ValidateSetupResponse{Report: report}, nil
}

func (f *fake) SubmitSetup(_ context.Context, r *pb.SubmitSetupRequest) (*pb.SubmitSetupResponse, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.submit = r
	report, err := f.report(r.GetRecord())
	if err != nil {
		return nil, err
	}
	return &pb.SubmitSetupResponse{Setup: &pb.Setup{Name: "setups/abc", Record: r.GetRecord(), Report: report}}, nil
}

func (f *fake) GetSetup(_ context.Context, r *pb.GetSetupRequest) (*pb.GetSetupResponse, error) {
	if strings.Contains(r.GetName(), "NO") {
		return nil, badRequest("name", "string.pattern", "does not match")
	}
	if r.GetName() != "setups/abc" {
		return nil, withDetails(codes.NotFound, `no such set-up: "nosuch"`, &errdetails.ErrorInfo{Reason: "SETUP_NOT_FOUND"})
	}
	return &pb.GetSetupResponse{Setup: &pb.Setup{
		Name: "setups/abc", CreateTime: timestamppb.New(testTime),
		Record: &pb.SetupRecord{
			Unit: &pb.Unit{Vin: "0ULCW4DS7T0000123", Model: "Causeway 400"}, Shop: "ridge-cycles",
			Readings: []*pb.Reading{{Characteristic: "chain_slack", Result: &pb.Reading_Value{Value: 45}, Unit: "mm"}},
		},
		Report: &pb.Report{Verdict: pb.Verdict_VERDICT_REJECT},
	}}, nil
}

func (f *fake) ListSetups(_ context.Context, r *pb.ListSetupsRequest) (*pb.ListSetupsResponse, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if strings.Contains(r.GetFilter(), "nosuch") {
		return nil, badRequest("filter", "FILTER_INVALID", "there is no field nosuch")
	}
	f.pages = append(f.pages, r.GetPageSize())
	answer := &pb.ListSetupsResponse{}
	from := len(r.GetPageToken()) // the token is as long as what has been listed
	for i := from; i < f.stored && i < from+int(r.GetPageSize()); i++ {
		answer.Setups = append(answer.Setups, &pb.Setup{
			Name: "setups/n", Record: &pb.SetupRecord{}, Report: &pb.Report{Verdict: pb.Verdict_VERDICT_ACCEPT}})
	}
	if end := from + len(answer.GetSetups()); end < f.stored {
		answer.NextPageToken = strings.Repeat("x", end)
	}
	return answer, nil
}

func (f *fake) ListSpecs(_ context.Context, r *pb.ListSpecsRequest) (*pb.ListSpecsResponse, error) {
	spec := &pb.Spec{
		Name: "specs/ulverdale-causeway-400-2026-us", Make: "Ulverdale", Model: "Causeway 400", ModelYear: 2026, Market: "US", Invented: true,
		LatestRevision: &pb.SpecRevision{Name: revisionName, Revision: 2, EffectiveTime: timestamppb.New(testTime), CharacteristicCount: 3},
	}
	if r.GetPageToken() == "" {
		return &pb.ListSpecsResponse{Specs: []*pb.Spec{spec}, NextPageToken: "more"}, nil
	}
	other := proto.Clone(spec).(*pb.Spec)
	other.Name, other.Model = "specs/varnholt-scree-200i-2026-eu", "Scree 200i"
	return &pb.ListSpecsResponse{Specs: []*pb.Spec{other}}, nil
}

func (f *fake) LookUpCharacteristics(_ context.Context, r *pb.LookUpCharacteristicsRequest) (*pb.LookUpCharacteristicsResponse, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.lookUp = r
	if r.GetModel() == "nosuch" {
		return nil, noSpec(`model "nosuch"`)
	}
	if r.GetVin() == "bad" {
		return nil, badRequest("vin", "VIN_INVALID", "a VIN of 3 characters: wanted 17")
	}
	answer := &pb.LookUpCharacteristicsResponse{
		Spec:         &pb.Spec{Name: "specs/ulverdale-causeway-400-2026-us", Make: "Ulverdale", Model: "Causeway 400", ModelYear: 2026, Market: "US"},
		SpecRevision: &pb.SpecRevision{Name: revisionName, Revision: 2},
	}
	if r.GetWords() != "nothing" {
		for _, c := range testSheet().GetCharacteristics() {
			answer.Matches = append(answer.Matches, &pb.CharacteristicMatch{Characteristic: c, Score: 0.5})
		}
	}
	return answer, nil
}

func badRequest(field, reason, description string) error {
	return withDetails(codes.InvalidArgument, "bad request", &errdetails.BadRequest{
		FieldViolations: []*errdetails.BadRequest_FieldViolation{{Field: field, Reason: reason, Description: description}}})
}

func (f *fake) PlanSetup(_ context.Context, r *pb.PlanSetupRequest) (*pb.PlanSetupResponse, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.plan = r
	if err := wrongPlan("", r); err != nil {
		return nil, err
	}
	return &pb.PlanSetupResponse{Plan: &pb.JobPlan{
		SpecRevision: revisionName, AsOfTime: timestamppb.New(testTime), Machine: "Ulverdale Causeway 400, 2026, US", Phase: r.GetPhase(),
		Steps: []*pb.PlanStep{{
			Number: 1, Characteristic: "oil_drain_bolt", DisplayName: "Oil drain bolt", Place: "fasteners", TargetText: "20 N·m (18 to 22 N·m)",
			Tools: []string{"17 mm socket"}, Caution: "Hot oil burns: gloves.", Severity: pb.Severity_SEVERITY_DAMAGE, Method: "Let the oil run out.",
		}},
		Tools: []string{"17 mm socket"},
	}}, nil
}

// wrongPlan finds fault with a few things; prefix is where the plan stands.
func wrongPlan(prefix string, r *pb.PlanSetupRequest) error {
	switch {
	case len(r.GetOptions()) > 1:
		return badRequest(prefix+"options[1]", "OPTION_UNKNOWN", "the sheet has no option "+r.GetOptions()[1])
	case r.GetVin() == "bad":
		return badRequest(prefix+"vin", "VIN_INVALID", "a VIN of 3 characters: wanted 17")
	case r.GetRider() != nil && r.GetRider().GetMassKg() < 20:
		return badRequest(prefix+"rider.mass_kg", "double.gte_lte", "must be at least 20")
	}
	return nil
}

func (f *fake) RenderSheet(_ context.Context, r *pb.RenderSheetRequest) (*pb.RenderSheetResponse, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.render = r
	if err := wrongPlan("plan.", r.GetPlan()); err != nil {
		return nil, err
	}
	if r.GetRecord() != nil {
		if _, err := f.report(r.GetRecord()); err != nil {
			return nil, err
		}
	}
	answer := &pb.RenderSheetResponse{
		Content: []byte("<!DOCTYPE html>\n"), MediaType: "text/html; charset=utf-8", FileName: "snapgauge-job-causeway-400-2026.html",
	}
	if r.GetFormat() == pb.SheetFormat_SHEET_FORMAT_PDF {
		answer.Content, answer.MediaType, answer.FileName = []byte("%PDF-1.3\n"), "application/pdf", "snapgauge-job-causeway-400-2026.pdf"
	}
	if f.fileName != "" {
		answer.FileName = f.fileName
	}
	return answer, nil
}

func (f *fake) ListFormulas(context.Context, *pb.ListFormulasRequest) (*pb.ListFormulasResponse, error) {
	return &pb.ListFormulasResponse{Formulas: []*pb.Formula{
		{
			Name: "brake-fluids-mix", Topic: "fluids", Description: "Whether brake fluids of two grades may meet.", Source: "common practice, no source",
			Inputs: []*pb.FormulaInput{
				{Name: "grade", Description: "Grade of the one", Choices: []string{"DOT 3", "DOT 4"}},
				{Name: "other", Description: "Grade of the other", Choices: []string{"DOT 3", "DOT 4"}},
			},
			Results: []*pb.FormulaResult{{Name: "may_meet", Description: "Whether they may meet"}},
		},
		{
			Name: "wrench-setting", Topic: "torque tools", Description: "What to set on a torque wrench with an extension.", Source: "statics",
			Inputs: []*pb.FormulaInput{
				{Name: "torque", Description: "Torque wanted", Unit: "N.m"},
				{Name: "wrench_length", Description: "From grip to square drive", Unit: "mm"},
			},
			Results: []*pb.FormulaResult{{Name: "setting", Description: "What to set", Unit: "N.m"}},
		},
	}}, nil
}

func (f *fake) Calculate(_ context.Context, r *pb.CalculateRequest) (*pb.CalculateResponse, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.calc = r
	if r.GetFormula() != "wrench-setting" {
		return nil, withDetails(codes.NotFound, "there is no such formula",
			&errdetails.ErrorInfo{Reason: "FORMULA_NOT_FOUND", Domain: "snapgauge", Metadata: map[string]string{"suggestions": "wrench-setting"}})
	}
	if _, ok := r.GetInputs()["torque"]; !ok {
		return nil, badRequest(`inputs["torque"]`, "INPUT_MISSING", "is missing; it is torque wanted")
	}
	return &pb.CalculateResponse{Calculation: &pb.Calculation{
		Formula: "wrench-setting", Description: "What to set on a torque wrench with an extension.",
		Inputs:  []*pb.CalculatedValue{{Name: "torque", Description: "Torque wanted", Value: 20, Unit: "N.m", Text: "20 N·m"}},
		Results: []*pb.CalculatedValue{{Name: "setting", Description: "What to set", Value: 17.5, Unit: "N.m", Text: "17.5 N·m"}},
		Source:  "statics", Caution: "Pull at the middle of the grip.",
	}}, nil
}

func testSheet() *pb.SpecSheet {
	predelivery := []pb.Phase{pb.Phase_PHASE_PRE_DELIVERY}
	return &pb.SpecSheet{
		SpecId: "ulverdale-causeway-400-2026-us", Revision: 2, Make: "Ulverdale", Model: "Causeway 400", ModelYear: 2026, Market: "US",
		Options: []*pb.Option{{Id: "big_tank", DisplayName: "Big tank"}, {Id: "small_tank", DisplayName: "Small tank"}},
		Characteristics: []*pb.Characteristic{
			{
				Id: "oil_drain_bolt", DisplayName: "Oil drain bolt", Group: pb.Group_GROUP_FASTENERS, Severity: pb.Severity_SEVERITY_DAMAGE,
				Limits: &pb.Limits{Lower: proto.Float64(18), Nominal: proto.Float64(20), Upper: proto.Float64(22), Unit: "N.m"},
				Kind: &pb.Characteristic_Fastener{Fastener: &pb.Fastener{Thread: "M12x1.5", Drive: pb.Drive_DRIVE_HEXAGON, DriveSizeMm: 17,
					Locking: pb.Locking_LOCKING_THREADLOCK_MEDIUM, Renew: true}},
				ReferenceConditions: []pb.Condition{pb.Condition_CONDITION_ENGINE_WARM},
				Method:              "Let the oil run out for ten minutes.", Caution: "Hot oil burns: gloves.", RequiredIn: predelivery, Source: "Invented demo data",
			},
			{
				Id: "idle_screw", DisplayName: "Idle screw: 50 % open", Group: pb.Group_GROUP_IDLE_AND_MIXTURE, Severity: pb.Severity_SEVERITY_FUNCTION,
				Limits:     &pb.Limits{Lower: proto.Float64(1.5), Upper: proto.Float64(2.5), Unit: "circ"},
				Kind:       &pb.Characteristic_Adjuster{Adjuster: &pb.Adjuster{ReferencePosition: "lightly seated", MechanicalRange: &pb.Interval{Lower: proto.Float64(0)}}},
				RequiredIn: predelivery, Source: "Invented demo data",
			},
			{
				Id: "throttle_snap", DisplayName: "Throttle snaps shut", Group: pb.Group_GROUP_SAFETY_CHECKS, Severity: pb.Severity_SEVERITY_SAFETY,
				Kind: &pb.Characteristic_Inspection{Inspection: &pb.Inspection{Criterion: "Snaps shut from wide open."}}, RequiredIn: predelivery, Source: "Invented demo data",
			},
			{
				Id: "links", DisplayName: "Chain links", Group: pb.Group_GROUP_CHAIN_AND_SPROCKETS, Severity: pb.Severity_SEVERITY_FUNCTION,
				Limits: &pb.Limits{Lower: proto.Float64(110), Upper: proto.Float64(110), Unit: "1"}, Kind: &pb.Characteristic_Count{Count: &pb.Count{}},
				RequiredIn: predelivery, Source: "Invented demo data",
			},
			{
				Id: "fork_oil", DisplayName: "Fork oil level", Group: pb.Group_GROUP_SUSPENSION, Severity: pb.Severity_SEVERITY_FUNCTION,
				Limits: &pb.Limits{Upper: proto.Float64(130), Unit: "mm"}, Kind: &pb.Characteristic_Measured{Measured: &pb.Measured{}},
				RequiredIn: []pb.Phase{pb.Phase_PHASE_SERVICE}, Source: "Invented demo data",
			},
		},
	}
}
