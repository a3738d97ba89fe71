package jobplan_test

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
	"github.com/snapgauge/snapgauge/service/jobplan"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
)

var phases = []pb.Phase{
	pb.Phase_PHASE_PRE_DELIVERY, pb.Phase_PHASE_HANDOVER, pb.Phase_PHASE_FIRST_SERVICE, pb.Phase_PHASE_SERVICE,
}

// optionSets returns sets of options that go together: none, each with what it
// needs, and some at random.
func optionSets(rev *spec.Revision, r *rand.Rand) [][]string {
	sets := [][]string{nil}
	options := rev.Sheet().GetOptions()
	for _, o := range options {
		sets = append(sets, append([]string{o.GetId()}, o.GetRequires()...))
	}
	for range 12 {
		var set []string
		for _, o := range options {
			if r.IntN(3) == 0 {
				set = append(set, o.GetId())
			}
		}
		sets = append(sets, set)
	}
	return slices.DeleteFunc(sets, func(set []string) bool {
		resolved, err := rev.Resolve(set, nil)
		return err != nil || len(resolved.Conflicts)+len(resolved.Unmet) > 0
	})
}

// Whatever the machine, phase and options: the plan is whole, in order, and says
// everything in words.
func TestEveryDemoPlan(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	plans := 0
	for _, rev := range revisions(t) {
		for _, phase := range phases {
			for _, set := range optionSets(rev, r) {
				for _, units := range bothSystems {
					req := jobplan.Request{
						Phase: phase, Options: set, Units: units, AsOf: day,
						Rider: rider(50+r.Float64()*80, 8), Ambient: air(-5+r.Float64()*40, r.Float64()*3000, 50),
						Use: pb.IntendedUse(r.IntN(4)),
					}
					plan := make1(t, rev, req)
					plans++
					t.Run(fmt.Sprintf("%s %v %v %v", rev.Name(), phase, set, units), func(t *testing.T) {
						checkPlan(t, rev, req, plan)
					})
				}
			}
		}
	}
	t.Logf("%d plans", plans)
}

func checkPlan(t *testing.T, rev *spec.Revision, req jobplan.Request, plan *pb.JobPlan) {
	resolved, err := rev.Resolve(req.Options, rev.Bulletins(req.VIN, req.AsOf))
	if err != nil {
		t.Fatal(err)
	}
	fitted := make(map[string]*pb.Characteristic)
	at := make(map[string]int32)
	for _, c := range resolved.Characteristics {
		fitted[c.GetId()] = c
	}
	for i, s := range plan.GetSteps() {
		if s.GetNumber() != int32(i+1) {
			t.Errorf("step %d has number %d", i+1, s.GetNumber())
		}
		if _, twice := at[s.GetCharacteristic()]; twice {
			t.Errorf("%s is a step twice", s.GetCharacteristic())
		}
		at[s.GetCharacteristic()] = s.GetNumber()
	}
	doneBefore := func(c *pb.Characteristic) bool {
		return slices.ContainsFunc(c.GetRequiredIn(), func(p pb.Phase) bool { return p < req.Phase })
	}
	var steps []*pb.Characteristic // in sheet order
	for _, c := range resolved.Characteristics {
		number, planned := at[c.GetId()]
		if slices.Contains(c.GetRequiredIn(), req.Phase) && !planned {
			t.Errorf("%s is required and no step", c.GetId())
		}
		if !planned {
			continue
		}
		steps = append(steps, c)
		var after []int32
		for _, id := range c.GetPrerequisites() {
			switch p, ok := at[id]; {
			case ok:
				after = append(after, p)
				if p >= number {
					t.Errorf("%s is step %d, its prerequisite %s step %d", c.GetId(), number, id, p)
				}
			case !doneBefore(fitted[id]):
				t.Errorf("%s needs %s, which no phase has seen to", c.GetId(), id)
			}
		}
		slices.Sort(after)
		if got := stepOf(t, plan, c.GetId()).GetAfter(); !slices.Equal(got, after) {
			t.Errorf("%s is after %v, want %v", c.GetId(), got, after)
		}
	}
	if len(steps) != len(plan.GetSteps()) {
		t.Errorf("%d steps, %d of them on the sheet", len(plan.GetSteps()), len(steps))
	}
	onSheet, inPlan := 0, 0
	for i := 1; i < len(steps); i++ {
		if steps[i].GetGroup() != steps[i-1].GetGroup() {
			onSheet++
		}
		if plan.GetSteps()[i].GetPlace() != plan.GetSteps()[i-1].GetPlace() {
			inPlan++
		}
	}
	if inPlan > onSheet {
		t.Errorf("%d changes of place, %d in sheet order", inPlan, onSheet)
	}
	checkEngine(t, steps, at)
	checkWords(t, plan)
	checkTargets(t, fitted, plan)
}

// checkEngine sees that nothing that can hurt or ruin is left for after the
// engine runs, if the sheet has it before.
func checkEngine(t *testing.T, steps []*pb.Characteristic, at map[string]int32) {
	for i, c := range steps {
		if c.GetId() != "first_start" && !slices.Contains(c.GetReferenceConditions(), pb.Condition_CONDITION_ENGINE_RUNNING) {
			continue
		}
		for _, earlier := range steps[:i] {
			if slices.ContainsFunc(earlier.GetReferenceConditions(), func(c pb.Condition) bool {
				return c == pb.Condition_CONDITION_ENGINE_RUNNING || c == pb.Condition_CONDITION_ENGINE_WARM
			}) {
				return // the engine has run already
			}
			if at[earlier.GetId()] > at[c.GetId()] {
				t.Errorf("%s, with the engine on, is step %d; %s, which the sheet has before, step %d", c.GetId(), at[c.GetId()], earlier.GetId(), at[earlier.GetId()])
			}
		}
	}
}

func checkWords(t *testing.T, plan *pb.JobPlan) {
	var tools []string
	for _, s := range plan.GetSteps() {
		if s.GetTargetText() == "" || s.GetPlace() == "" || s.GetDisplayName() == "" || s.GetSource() == "" {
			t.Errorf("step %d lacks words: %v", s.GetNumber(), s)
		}
		if strings.Contains(s.GetTargetText(), "NaN") || strings.Contains(s.GetTargetText(), "Inf") {
			t.Errorf("%s: %s", s.GetCharacteristic(), s.GetTargetText())
		}
		for _, tool := range s.GetTools() {
			if !slices.Contains(tools, tool) {
				tools = append(tools, tool)
			}
		}
	}
	if !slices.Equal(plan.GetTools(), tools) {
		t.Errorf("tools are %q, want %q", plan.GetTools(), tools)
	}
	for _, c := range plan.GetCalculations() {
		if c.GetFormula() == "" || c.GetDescription() == "" || c.GetSource() == "" || len(c.GetInputs()) == 0 || len(c.GetResults()) == 0 {
			t.Errorf("calculation is not whole: %v", c)
		}
		for _, v := range slices.Concat(c.GetInputs(), c.GetResults()) {
			if v.GetText() == "" || v.GetDescription() == "" || math.IsNaN(v.GetValue()) || math.IsInf(v.GetValue(), 0) {
				t.Errorf("%s: value is not whole: %v", c.GetFormula(), v)
			}
		}
	}
	for _, caution := range plan.GetCautions() {
		if !strings.HasSuffix(caution, ".") || strings.Contains(caution, "..") {
			t.Errorf("no sentence: %q", caution)
		}
	}
	if _, err := document.Encode(plan); err != nil {
		t.Errorf("cannot be written: %v", err)
	}
}

// checkTargets sees that no computed target leaves the limits.
func checkTargets(t *testing.T, fitted map[string]*pb.Characteristic, plan *pb.JobPlan) {
	formulas := make(map[string]bool)
	for _, c := range plan.GetCalculations() {
		formulas[c.GetFormula()] = true
	}
	for _, s := range plan.GetSteps() {
		if by := s.GetComputedBy(); by != "" && !formulas[by] {
			t.Errorf("%s is computed by %s, which is no calculation of the plan", s.GetCharacteristic(), by)
		}
		limits := fitted[s.GetCharacteristic()].GetLimits()
		if limits == nil {
			if s.GetTarget() != nil || s.GetLower() != nil || s.GetUpper() != nil {
				t.Errorf("%s has a number and no limits", s.GetCharacteristic())
			}
			continue
		}
		if (limits.Lower != nil) != (s.GetLower() != nil) || (limits.Upper != nil) != (s.GetUpper() != nil) {
			t.Errorf("%s: limits are not those of the sheet", s.GetCharacteristic())
		}
		if v := s.GetTarget(); v != nil {
			const hair = 1e-6
			if s.GetLower() != nil && v.GetMetricValue() < s.GetLower().GetMetricValue()-hair ||
				s.GetUpper() != nil && v.GetMetricValue() > s.GetUpper().GetMetricValue()+hair {
				t.Errorf("%s: target %v outside %v to %v", s.GetCharacteristic(), v, s.GetLower(), s.GetUpper())
			}
			if s.GetComputedBy() == "" && limits.Nominal == nil && limits.GetLower() != limits.GetUpper() {
				t.Errorf("%s: a target where the sheet has none", s.GetCharacteristic())
			}
		}
	}
}

func TestDeterministicWhateverTheOrderOfOptions(t *testing.T) {
	rev := revision(t, scree, 3)
	options := []string{"jet_kit", "free_flow_silencer", "hand_guards", "spring_kit_heavy", "kickstart_kit"}
	req := jobplan.Request{Options: options, Rider: rider(90, 8), Ambient: air(12, 800, 60), AsOf: day, VIN: "0VST2E0X0TA000300"}
	want := make1(t, rev, req)
	r := rand.New(rand.NewPCG(5, 6))
	for range 20 {
		req.Options = slices.Clone(options)
		r.Shuffle(len(options), func(i, j int) { req.Options[i], req.Options[j] = req.Options[j], req.Options[i] })
		req.Options = append(req.Options, req.Options[0]) // named twice
		if got := make1(t, rev, req); !proto.Equal(got, want) {
			t.Fatalf("with %v the plan is another", req.Options)
		}
	}
}

// The sheet is shared: a plan must not write on it.
func TestSheetStaysAsItIs(t *testing.T) {
	for _, rev := range revisions(t) {
		before := proto.Clone(rev.Sheet())
		plan := make1(t, rev, jobplan.Request{Rider: rider(130, 20), Ambient: air(-10, 2500, 30), AsOf: day})
		for _, s := range plan.GetSteps() {
			for i := range s.Tools {
				s.Tools[i] = "scribble"
			}
		}
		if !proto.Equal(before, rev.Sheet()) {
			t.Errorf("%s was changed", rev.Name())
		}
	}
}

func TestHead(t *testing.T) {
	rev := revision(t, scree, 3)
	plan := make1(t, rev, jobplan.Request{Options: []string{"hand_guards", "low_seat"}, AsOf: day})
	if got, want := plan.GetMachine(), "Varnholt Scree 200i, 2026, EU"; got != want {
		t.Errorf("machine %q, want %q", got, want)
	}
	if plan.GetSpecRevision() != rev.Name() || plan.GetDigest() != rev.Digest() || !plan.GetAsOfTime().AsTime().Equal(day) || !plan.GetInvented() {
		t.Errorf("head is %v", plan)
	}
	if plan.GetPhase() != pb.Phase_PHASE_PRE_DELIVERY {
		t.Errorf("phase not stated gives %v, want pre-delivery", plan.GetPhase())
	}
	if got, want := plan.GetOptions(), []string{"low_seat", "hand_guards"}; !slices.Equal(got, want) {
		t.Errorf("options %v, want %v, in sheet order", got, want)
	}
	for _, c := range rev.Sheet().GetCautions() {
		if !slices.Contains(plan.GetCautions(), c) {
			t.Errorf("caution of the sheet is missing: %s", c)
		}
	}
}

func TestBulletinHoldsFromItsDayForItsMachines(t *testing.T) {
	rev := revision(t, scree, 3)
	has := func(req jobplan.Request) bool {
		return slices.ContainsFunc(make1(t, rev, req).GetSteps(), func(s *pb.PlanStep) bool { return s.GetCharacteristic() == "clutch_cable_clip" })
	}
	if !has(jobplan.Request{VIN: "0VST2E0X0TA000300", AsOf: day}) {
		t.Error("the notice's check is no step for a machine that it is for")
	}
	if has(jobplan.Request{VIN: "0VST2E0X0TA000900", AsOf: day}) {
		t.Error("the notice's check is a step for a machine that it is not for")
	}
	if has(jobplan.Request{VIN: "0VST2E0X0TA000300", AsOf: day.AddDate(-1, 0, 0)}) {
		t.Error("the notice's check is a step before the notice")
	}
}

func TestRefusals(t *testing.T) {
	rev := revision(t, scree, 3)
	for name, test := range map[string]struct {
		req  jobplan.Request
		want string
	}{
		"everything at once": {
			jobplan.Request{Options: []string{"sidecar", "flat_slide_carburettor", "jet_kit", "battery_less", "anchor"}},
			`the sheet has no option "anchor"; the sheet has no option "sidecar"; jet_kit and flat_slide_carburettor exclude each other; battery_less needs kickstart_kit (options are low_seat, `,
		},
		"phase": {jobplan.Request{Phase: 17}, "phase 17 does not exist"},
	} {
		t.Run(name, func(t *testing.T) {
			plan, err := jobplan.Make(rev, test.req)
			var refused *jobplan.RequestError
			if plan != nil || !errors.As(err, &refused) {
				t.Fatalf("got %v, %v, want a *RequestError", plan, err)
			}
			if !strings.HasPrefix(err.Error(), test.want) {
				t.Errorf("got %q, want %q", err, test.want)
			}
		})
	}
}

// Prerequisites that an earlier phase saw to are not done again; others are.
func TestWhichSteps(t *testing.T) {
	rev := revision(t, scree, 3)
	steps := func(phase pb.Phase, options ...string) []string {
		var ids []string
		for _, s := range make1(t, rev, jobplan.Request{Phase: phase, Options: options, AsOf: day}).GetSteps() {
			ids = append(ids, s.GetCharacteristic())
		}
		return ids
	}
	for _, test := range []struct {
		phase pb.Phase
		id    string
		want  bool
		why   string
	}{
		{pb.Phase_PHASE_PRE_DELIVERY, "clutch_cable_adjuster", true, "it moves what is required"},
		{pb.Phase_PHASE_PRE_DELIVERY, "clutch_cable_routing", true, "the adjuster needs it and no phase requires it"},
		{pb.Phase_PHASE_PRE_DELIVERY, "idle_screw", false, "what it moves is not required yet"},
		{pb.Phase_PHASE_FIRST_SERVICE, "idle_screw", true, "what it moves is required now"},
		{pb.Phase_PHASE_FIRST_SERVICE, "shock_preload_ring", true, "it moves both sags"},
		{pb.Phase_PHASE_FIRST_SERVICE, "throttle_cable_adjuster", true, "it moves what is required"},
		{pb.Phase_PHASE_SERVICE, "rear_tyre_pressure", true, "it is required"},
		{pb.Phase_PHASE_HANDOVER, "front_axle", false, "pre-delivery has seen to it"},
	} {
		if got := slices.Contains(steps(test.phase), test.id); got != test.want {
			t.Errorf("%v: %s is a step: %v, want %v, since %s", test.phase, test.id, got, test.want, test.why)
		}
	}
}

func TestTools(t *testing.T) {
	plan := make1(t, revision(t, glade, 2), jobplan.Request{AsOf: day})
	seen := make(map[string]int)
	for _, tool := range plan.GetTools() {
		seen[tool]++
	}
	for _, tool := range slices.Sorted(maps.Keys(seen)) {
		if seen[tool] != 1 {
			t.Errorf("%s is listed %d times", tool, seen[tool])
		}
	}
}

func TestConsumables(t *testing.T) {
	find := func(plan *pb.JobPlan, name string) *pb.Consumable {
		i := slices.IndexFunc(plan.GetConsumables(), func(c *pb.Consumable) bool { return c.GetName() == name })
		if i < 0 {
			t.Fatalf("%q is not among %v", name, plan.GetConsumables())
		}
		return plan.GetConsumables()[i]
	}
	plan := make1(t, revision(t, scree25, 1), jobplan.Request{AsOf: day})
	oil := find(plan, "Two-stroke oil for injection, ISO-L-EGD (ISO 13738), JASO FD (JASO M 345)")
	if oil.GetAmount().GetMetricValue() != 530 || oil.GetAmount().GetMetricUnit() != "mL" {
		t.Errorf("oil for tank and first fuel is %v, want 450 and 80 mL", oil.GetAmount())
	}
	if want := []string{"oil_tank_fill", "first_tank_premix"}; !slices.Equal(oil.GetCharacteristics(), want) {
		t.Errorf("it is for %v, want %v", oil.GetCharacteristics(), want)
	}
	if fuel := find(plan, "Unleaded petrol EN 228, RON 95, at most 10 % ethanol (E10)"); fuel.GetAmount().GetMetricValue() != 4 {
		t.Errorf("fuel is %v, want 4 L", fuel.GetAmount())
	}
	find(plan, "medium-strength thread-locking fluid")

	plan = make1(t, revision(t, heron25, 1), jobplan.Request{Phase: pb.Phase_PHASE_SERVICE, AsOf: day})
	if washer := find(plan, "new fastener or washer for engine oil drain bolt"); washer.GetPieces() != 1 || washer.GetAmount() != nil {
		t.Errorf("got %v, want one piece", washer)
	}
	find(plan, "grease for threads")
}

func TestTargetTexts(t *testing.T) {
	for _, test := range []struct {
		spec   string
		number int
		phase  pb.Phase
		units  quantity.System
		id     string
		want   string
	}{
		{scree25, 1, 1, quantity.Metric, "oil_tank_fill", "450 mL (400 to 480 mL) of two-stroke oil for injection, ISO-L-EGD (ISO 13738), JASO FD (JASO M 345)"},
		{scree25, 1, 1, quantity.USCustomary, "oil_tank_fill", "15.22 fl oz (13.53 to 16.23 fl oz) of two-stroke oil for injection, ISO-L-EGD (ISO 13738), JASO FD (JASO M 345)"},
		{scree25, 1, 1, quantity.Metric, "throttle_cable_adjuster", "3 turns out from fully in (1 to 6 turns)"},
		{scree25, 1, 1, quantity.Metric, "throttle_free_play", "4 mm (3 to 5 mm)"},
		{scree25, 1, 1, quantity.Metric, "handlebar_clamp_bolts", "22 N·m (20 to 24 N·m), M8x1.25, hexagon socket 6 mm, 4 pieces"},
		{scree25, 1, 1, quantity.USCustomary, "handlebar_clamp_bolts", "16.23 lbf·ft (14.75 to 17.7 lbf·ft), M8x1.25, hexagon socket 6 mm, 4 pieces"},
		{scree25, 1, 1, quantity.Metric, "engine_number", "read off and written down"},
		{scree25, 1, 1, quantity.Metric, "display_unit", "km/h"},
		{scree25, 1, 3, quantity.Metric, "crankcase_drain_bolt", "20 N·m (18 to 22 N·m), M12x1.5, hexagon 18 mm, thread oiled, renewed"},
		{scree25, 1, 4, quantity.Metric, "brake_fluid_grade", "DOT 4 or DOT 5.1"},
		{scree25, 1, 4, quantity.Metric, "front_brake_pad_thickness", "1.2 to 4.5 mm"},
		{heron25, 1, 4, quantity.Metric, "front_brake_pad_thickness", "4.4 mm (at least 1.6 mm)"},
		{scree25, 1, 2, quantity.Metric, "key_count", "2"},
		{glade, 2, 1, quantity.Metric, "fork_rebound_damping", "9 clicks out from fully in (5 to 14 clicks)"},
		{glade, 2, 1, quantity.Metric, "coolant_level", "between the marks or at the upper mark"},
		{causeway, 2, 1, quantity.USCustomary, "front_tyre_pressure", "24 psi (22 to 26 psi)"},
		{gannet, 2, 1, quantity.Metric, "premix_ratio", "45 (42 to 48), that is 133 mL of oil in 6 L of fuel"},
		{scree25, 1, 1, quantity.Metric, "first_tank_premix", "1:50, that is 80 mL of oil in 4 L of fuel"},
	} {
		plan := make1(t, revision(t, test.spec, test.number), jobplan.Request{Phase: test.phase, Units: test.units, AsOf: day})
		if got := stepOf(t, plan, test.id).GetTargetText(); got != test.want {
			t.Errorf("%s %s: got %q, want %q", test.spec, test.id, got, test.want)
		}
	}
}

func TestConditionsAndTargetsInBothSystems(t *testing.T) {
	plan := make1(t, revision(t, causeway, 2), jobplan.Request{AsOf: day})
	s := stepOf(t, plan, "front_tyre_pressure")
	if want := []string{"the tyres cold"}; !slices.Equal(s.GetConditions(), want) {
		t.Errorf("conditions %q, want %q", s.GetConditions(), want)
	}
	want := &pb.DualQuantity{MetricValue: 165.474175, MetricUnit: "kPa", UsValue: 24, UsUnit: "[psi]"}
	if !proto.Equal(s.GetTarget(), want) {
		t.Errorf("target %v, want %v", s.GetTarget(), want)
	}
}
