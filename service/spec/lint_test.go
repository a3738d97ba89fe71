package spec_test

import (
	"errors"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
)

func TestLintAccepts(t *testing.T) {
	if problems := spec.Lint(testSheet(t)); len(problems) > 0 {
		t.Errorf("got %v", problems)
	}
}

func boxContainer() *pb.Container {
	corner := func(y, z float64) *pb.SectionPoint { return &pb.SectionPoint{YMm: y, ZMm: z} }
	return &pb.Container{
		Sections: []*pb.ContainerSection{{Outline: []*pb.SectionPoint{corner(0, 0), corner(100, 0), corner(100, 100), corner(0, 100)}}},
		LengthMm: 100,
		Neck:     &pb.ContainerPoint{XMm: 50, YMm: 50, ZMm: 100},
		MarginMm: 10,
	}
}

func TestLint(t *testing.T) {
	find := func(s *pb.SpecSheet, id string) *pb.Characteristic { return characteristic(s.Characteristics, id) }
	amend := func(s *pb.SpecSheet, option int, a *pb.Amendment) { s.Options[option].Amendment = a }
	for name, test := range map[string]struct {
		spoil func(s *pb.SpecSheet)
		want  string // contained in one of the problems
	}{
		"shape":             {func(s *pb.SpecSheet) { s.Make = "" }, "make: value is required"},
		"shape within":      {func(s *pb.SpecSheet) { s.Characteristics[2].GetFastener().Pieces = 99 }, "characteristics[2].fastener.pieces: must be greater than or equal to 0 and less than or equal to 64"},
		"characteristic id": {func(s *pb.SpecSheet) { s.Characteristics[1].Id = "frame_number" }, `characteristics[1].id: "frame_number" is used twice; first at characteristics[0]`},
		"option id":         {func(s *pb.SpecSheet) { s.Options[3].Id = "tank_guard" }, `options[3].id: "tank_guard" is used twice; first at options[2]`},
		"bulletin id":       {func(s *pb.SpecSheet) { s.Bulletins[0].Id = "tank_guard" }, `bulletins[0].id: "tank_guard" is used twice; first at options[2]`},
		"rule id":           {func(s *pb.SpecSheet) { s.Rules[0].Id = "fuel_tap" }, `rules[0].id: "fuel_tap" is used twice; first at characteristics[12]`},
		"added id":          {func(s *pb.SpecSheet) { s.Options[2].Amendment.Add[0].Id = "b2026_01" }, `options[2].amendment.add[0].id: "b2026_01" is used twice; first at bulletins[0]`},
		"reserved id":       {func(s *pb.SpecSheet) { find(s, "chain_slack").Id = "hours" }, `.id: got "hours", which has a meaning of its own in rules`},
		"limits missing":    {func(s *pb.SpecSheet) { find(s, "chain_slack").Limits = nil }, "characteristics[21].limits: missing: kind measured has limits"},
		"limits not wanted": {func(s *pb.SpecSheet) { find(s, "fuel_tap").Limits = &pb.Limits{Lower: proto.Float64(1), Unit: "mm"} }, "characteristics[12].limits: not wanted: kind choice has none"},
		"no limit":          {func(s *pb.SpecSheet) { find(s, "chain_slack").Limits = &pb.Limits{Unit: "mm"} }, "limits: has neither a lower nor an upper limit"},
		"inverted":          {func(s *pb.SpecSheet) { find(s, "chain_slack").Limits.Lower = proto.Float64(50) }, "limits: the lower limit is above the upper limit"},
		"unknown unit":      {func(s *pb.SpecSheet) { find(s, "chain_slack").Limits.Unit = "mmm" }, `limits.unit: unknown unit "mmm"`},
		"capacity unit":     {func(s *pb.SpecSheet) { find(s, "coolant_fill").Limits.Unit = "mm" }, `limits.unit: got "mm", which is a length, want a volume or a mass`},
		"fastener unit":     {func(s *pb.SpecSheet) { find(s, "drain_bolt").Limits.Unit = "J" }, "characteristics[2].limits.unit: "},
		"adjuster unit":     {func(s *pb.SpecSheet) { find(s, "air_screw").Limits.Unit = "mm" }, `want turns ("circ") or clicks ("{click}")`},
		"count unit":        {func(s *pb.SpecSheet) { find(s, "front_sprocket").Limits.Unit = "mm" }, `want a plain number ("1")`},
		"count fraction":    {func(s *pb.SpecSheet) { find(s, "front_sprocket").Limits.Upper = proto.Float64(13.5) }, "limits.upper: got 13.5, want a whole number"},
		"negative volume":   {func(s *pb.SpecSheet) { find(s, "coolant_fill").Limits.Lower = proto.Float64(-1) }, "limits.lower: got -1 L, want nought or more"},
		"safe fill low":     {func(s *pb.SpecSheet) { find(s, "oil_tank_fill").GetCapacity().SafeFill = proto.Float64(400) }, "capacity.safe_fill: got 400, want no less than the lower limit 500"},
		"safe fill, nominal": {func(s *pb.SpecSheet) {
			find(s, "oil_tank_fill").GetCapacity().SafeFill = proto.Float64(600)
			find(s, "oil_tank_fill").Limits.Upper = nil
		}, "capacity.safe_fill: got 600, want no less than the nominal fill 650"},
		"safe fill, geometry": {func(s *pb.SpecSheet) {
			// A box of 100 mm by 100 mm by 100 mm holds 1 L; 10 mm below the rim are 900 mL.
			find(s, "oil_tank_fill").Kind = &pb.Characteristic_Capacity{Capacity: &pb.Capacity{
				Fluid: "oil", SafeFill: proto.Float64(950), Container: boxContainer(),
			}}
		}, "capacity.safe_fill: got 950, but the container's geometry gives 900 at a lean of 0 degrees"},
		"safe fill computed, low": {func(s *pb.SpecSheet) {
			// With the neck at the left edge and a lean of 45 degrees to the left, the
			// box may be filled to 10 mm below its diagonal: a triangle of height 60.7 mm
			// and area 60.7² mm².
			c := boxContainer()
			c.Neck.YMm = 100
			find(s, "oil_tank_fill").Kind = &pb.Characteristic_Capacity{Capacity: &pb.Capacity{
				Fluid: "oil", StandLeanDeg: 45, Container: c,
			}}
		}, "capacity.safe_fill: got 368.6, want no less than the lower limit 500"},
		"container flat": {func(s *pb.SpecSheet) {
			c := boxContainer()
			c.Sections[0].Outline = c.Sections[0].Outline[:2]
			find(s, "oil_tank_fill").GetCapacity().Container = c
		}, "outline"},
		"container without length": {func(s *pb.SpecSheet) {
			c := boxContainer()
			c.LengthMm = 0
			find(s, "oil_tank_fill").GetCapacity().Container = c
		}, "capacity.container: a container with one section needs its length_mm"},
		"beyond proof load": {func(s *pb.SpecSheet) {
			// M8, class 8.8: 36.6 mm² at 580 MPa is 21.2 kN (ISO 898-1), which K = 0.2
			// reaches at about 34 N.m; 60 N.m is beyond it with any ordinary friction.
			d := find(s, "drain_bolt")
			d.GetFastener().Thread, d.GetFastener().PropertyClass = "M8", "8.8"
			d.Limits = &pb.Limits{Lower: proto.Float64(40), Upper: proto.Float64(60), Unit: "N.m"}
		}, "limits.upper: got 60, want at most "},
		"safe fill below the upper limit": {func(s *pb.SpecSheet) {
			find(s, "oil_tank_fill").GetCapacity().SafeFill = proto.Float64(680)
		}, "capacity.safe_fill: got 680, want no less than the upper limit 700"},
		"guarded adjuster": {func(s *pb.SpecSheet) {
			find(s, "air_screw").DecisionRule = pb.DecisionRule_DECISION_RULE_GUARDED_ACCEPTANCE
		}, "decision_rule: got GUARDED_ACCEPTANCE, which kind adjuster does not have"},
		"conditions exclude each other": {func(s *pb.SpecSheet) {
			find(s, "chain_slack").ReferenceConditions = []pb.Condition{pb.Condition_CONDITION_ENGINE_COLD, pb.Condition_CONDITION_ENGINE_WARM}
		}, "reference_conditions: got ENGINE_COLD and ENGINE_WARM, which exclude each other"},
		"no such class": {func(s *pb.SpecSheet) {
			find(s, "drain_bolt").GetFastener().PropertyClass = "7.7"
		}, `fastener.property_class: got "7.7", want a class of ISO 898-1`},
		"impossible":   {func(s *pb.SpecSheet) { find(s, "oil_tank_fill").Possible.Upper = proto.Float64(600) }, "possible.upper: got 600, but the upper limit is 700"},
		"out of reach": {func(s *pb.SpecSheet) { find(s, "air_screw").GetAdjuster().MechanicalRange.Upper = proto.Float64(2) }, "adjuster.mechanical_range.upper: got 2, but the upper limit is 2.5"},
		"flush": {func(s *pb.SpecSheet) {
			a := find(s, "air_screw").GetAdjuster()
			a.FlushLimit, a.MechanicalRange.Lower = true, nil
		}, "adjuster.mechanical_range.lower: got none, want 0"},
		"moves nothing": {func(s *pb.SpecSheet) {
			find(s, "throttle_cable_adjuster").GetAdjuster().Moves.Characteristic = "throttle_free_pley"
		}, `moves.characteristic: got "throttle_free_pley", want a characteristic of this sheet; did you mean "throttle_free_play"?`},
		"moves a choice": {func(s *pb.SpecSheet) {
			find(s, "throttle_cable_adjuster").GetAdjuster().Moves.Characteristic = "fuel_tap"
		}, `moves.characteristic: got "fuel_tap", of kind choice, want something with a measured value`},
		"prerequisite":     {func(s *pb.SpecSheet) { find(s, "rear_axle_nut").Prerequisites = []string{"chain_slak"} }, `characteristics[4].prerequisites[0]: got "chain_slak", want a characteristic of this sheet; did you mean "chain_slack"?`},
		"own prerequisite": {func(s *pb.SpecSheet) { find(s, "rear_axle_nut").Prerequisites = []string{"rear_axle_nut"} }, `"rear_axle_nut" is its own prerequisite`},
		"circle":           {func(s *pb.SpecSheet) { find(s, "chain_slack").Prerequisites = []string{"rear_axle_nut"} }, "characteristics[4].prerequisites: prerequisites go in a circle: rear_axle_nut needs chain_slack needs rear_axle_nut"},
		"circle by an option": {func(s *pb.SpecSheet) {
			amend(s, 3, &pb.Amendment{Override: []*pb.Characteristic{{Id: "chain_slack", Prerequisites: []string{"rear_axle_nut"}}}})
		}, "options[3].amendment: prerequisites go in a circle: rear_axle_nut needs chain_slack needs rear_axle_nut (with clutch_lever_guard)"},
		"guarded inspection": {func(s *pb.SpecSheet) {
			find(s, "stop_switch").DecisionRule = pb.DecisionRule_DECISION_RULE_GUARDED_ACCEPTANCE
		}, "decision_rule: got GUARDED_ACCEPTANCE, which needs limits"},
		"caution":         {func(s *pb.SpecSheet) { find(s, "stop_switch").Caution = "" }, "caution: missing: wanted wherever the severity is SAFETY"},
		"pattern":         {func(s *pb.SpecSheet) { find(s, "frame_number").GetIdentifier().Pattern = "(" }, `identifier.pattern: got "(", which is no RE2 pattern`},
		"thread":          {func(s *pb.SpecSheet) { find(s, "drain_bolt").GetFastener().Thread = "M12x0.8" }, `fastener.thread: got "M12x0.8", want a diameter and pitch that ISO 261 has together`},
		"no thread":       {func(s *pb.SpecSheet) { find(s, "drain_bolt").GetFastener().Thread = "M13" }, `fastener.thread: got "M13", want an ISO metric thread such as M8 or M10x1.25`},
		"VIN pattern":     {func(s *pb.SpecSheet) { s.Vin.Patterns[0] = "0TWSC????T1?????A" }, "vin.patterns[0]: VIN pattern"},
		"maker":           {func(s *pb.SpecSheet) { s.Vin.Patterns[0] = "0T?SC????T1??????" }, "vin.patterns[0]: got \"0T?SC????T1??????\", want the maker's three characters without '?'"},
		"real maker":      {func(s *pb.SpecSheet) { s.Vin.Patterns[0] = "9TWSC????T1??????" }, "want 0 first: an invented machine must not have a real maker's VIN"},
		"serial numbers":  {func(s *pb.SpecSheet) { s.Vin.SerialFrom = "005000" }, "vin.serial_from: "},
		"check digit":     {func(s *pb.SpecSheet) { s.Market = "CA" }, "vin.check_digit: got false, want true: market CA requires it"},
		"model year code": {func(s *pb.SpecSheet) { s.Vin.CheckDigit, s.ModelYear = true, 2027 }, `vin.patterns[0]: got "T" at position 10, want the code of model year 2027`},
		"bulletin VIN":    {func(s *pb.SpecSheet) { s.Bulletins[1].Vin.Patterns[0] = "???SC????T1??????" }, "bulletins[1].vin.patterns[0]: "},
		"invented":        {func(s *pb.SpecSheet) { s.SourceDocument = "Manual" }, `source_document: got "Manual", want the word "invented" in it`},
		"least time twice": {func(s *pb.SpecSheet) {
			s.LeastTimes = []*pb.LeastTime{
				{Phase: pb.Phase_PHASE_PRE_DELIVERY, Minutes: 90},
				{Phase: pb.Phase_PHASE_SERVICE, Minutes: 40},
				{Phase: pb.Phase_PHASE_PRE_DELIVERY, Minutes: 90},
			}
		}, "least_times[2].phase: pre-delivery has a least time already, at least_times[0]"},
		"least time of no phase": {func(s *pb.SpecSheet) { s.LeastTimes = []*pb.LeastTime{{Minutes: 90}} }, "least_times[0].phase: value is required"},
		"no time at all": {func(s *pb.SpecSheet) {
			s.LeastTimes = []*pb.LeastTime{{Phase: pb.Phase_PHASE_SERVICE}}
		}, "least_times[0].minutes: must be greater than or equal to 1"},
		"expectation":      {func(s *pb.SpecSheet) { s.Examples[0].Expectation = nil }, "examples[0].expectation: missing"},
		"example, model":   {func(s *pb.SpecSheet) { s.Examples[0].Unit.Model = "Other" }, `examples[0].unit.model: got "Other", want "Scree 250i" or one of its other names`},
		"example, year":    {func(s *pb.SpecSheet) { s.Examples[0].Unit.ModelYear = 2025 }, "examples[0].unit.model_year: got 2025, want 2026"},
		"example, market":  {func(s *pb.SpecSheet) { s.Examples[0].Unit.Market = "US" }, `examples[0].unit.market: got "US", want "EU"`},
		"requires unknown": {func(s *pb.SpecSheet) { s.Options[2].Requires = []string{"long_range_tnk"} }, `options[2].requires[0]: got "long_range_tnk", want an option of this sheet; did you mean "long_range_tank"?`},
		"excludes itself":  {func(s *pb.SpecSheet) { s.Options[2].Excludes = []string{"tank_guard"} }, `options[2].excludes[0]: "tank_guard" names itself`},
		"both":             {func(s *pb.SpecSheet) { s.Options[1].Excludes = []string{"tank_guard"} }, `options[2].requires[0]: "long_range_tank" is both required and excluded`},
		"option circle":    {func(s *pb.SpecSheet) { s.Options[1].Requires = []string{"tank_guard"} }, "options[1].requires: requirements go in a circle: long_range_tank requires tank_guard requires long_range_tank"},
		"cannot be fitted": {func(s *pb.SpecSheet) {
			s.Options[2].Requires = []string{"hydraulic_clutch", "clutch_lever_guard"}
		}, `options[2].requires: "tank_guard" cannot be fitted`},
		"override unknown":     {func(s *pb.SpecSheet) { s.Options[1].Amendment.Override[0].Id = "fuel_tank_fil" }, `options[1].amendment.override[0].id: cannot change "fuel_tank_fil": there is no such characteristic; did you mean "fuel_tank_fill"?`},
		"remove unknown":       {func(s *pb.SpecSheet) { s.Options[0].Amendment.Remove[0] = "x" }, `options[0].amendment.remove[0]: cannot remove "x"`},
		"override to nonsense": {func(s *pb.SpecSheet) { s.Options[1].Amendment.Override[0].Limits.Lower = proto.Float64(15) }, "options[1].amendment.override[0].limits: the lower limit is above the upper limit"},
		"override of a kind": {func(s *pb.SpecSheet) {
			s.Options[1].Amendment.Override[0].Kind = &pb.Characteristic_Inspection{Inspection: &pb.Inspection{Criterion: "x"}}
		}, "options[1].amendment.override[0].limits: not wanted: kind inspection has none"},
		"pair": {func(s *pb.SpecSheet) {
			amend(s, 3, &pb.Amendment{Override: []*pb.Characteristic{{Id: "fuel_tank_fill", Method: "x"}}})
			amend(s, 0, &pb.Amendment{Remove: []string{"fuel_tank_fill"}})
			s.Options[0].Excludes = []string{"long_range_tank"}
		}, `options[3].amendment.override[0].id: cannot change "fuel_tank_fill": "hydraulic_clutch" took it away (fitted: hydraulic_clutch, clutch_lever_guard)`},
		"pair adds twice": {func(s *pb.SpecSheet) {
			amend(s, 1, &pb.Amendment{Add: []*pb.Characteristic{s.Options[0].Amendment.Add[0]}})
		}, `options[1].amendment.add[0].id: got "clutch_fluid_level", which is there already (fitted: hydraulic_clutch, long_range_tank)`},
		"bulletin unknown":  {func(s *pb.SpecSheet) { s.Bulletins[0].Amendment.Override[0].Id = "idle" }, `bulletins[0].amendment.override[0].id: got "idle", want a characteristic of this sheet`},
		"bulletin adds":     {func(s *pb.SpecSheet) { s.Bulletins[0].Amendment.Add = []*pb.Characteristic{s.Characteristics[0]} }, `bulletins[0].amendment.add[0].id: got "frame_number", which is there already`},
		"bulletin nonsense": {func(s *pb.SpecSheet) { s.Bulletins[0].Amendment.Override[0].Limits.Unit = "x/y" }, "bulletins[0].amendment.override[0].limits.unit: unknown unit"},
		"addition":          {func(s *pb.SpecSheet) { s.Options[2].Amendment.Add[0].Prerequisites = []string{"nothing"} }, `options[2].amendment.add[0].prerequisites[0]: got "nothing", want a characteristic of this sheet`},
		"shape of addition": {func(s *pb.SpecSheet) { s.Options[2].Amendment.Add[0].DisplayName = "" }, "options[2].amendment.add[0].display_name: value is required"},
	} {
		t.Run(name, func(t *testing.T) {
			sheet := testSheet(t)
			test.spoil(sheet)
			before := proto.Clone(sheet)
			_, err := spec.NewRevision(sheet)
			var invalid *spec.SheetError
			if !errors.As(err, &invalid) {
				t.Fatalf("got %v, want a *SheetError", err)
			}
			if !strings.Contains(err.Error(), test.want) {
				t.Errorf("got\n%v\nwant\n%s", err, test.want)
			}
			if !proto.Equal(before, sheet) {
				t.Error("the sheet was changed")
			}
			seen := make(map[spec.Problem]bool)
			for _, p := range invalid.Problems {
				if seen[p] {
					t.Errorf("told twice: %v", p)
				}
				seen[p] = true
			}
		})
	}
}

func TestLintBroken(t *testing.T) {
	for name, sheet := range map[string]*pb.SpecSheet{
		"nil":   nil,
		"empty": {},
		"holes": {
			Characteristics: []*pb.Characteristic{{}, nil, {Kind: &pb.Characteristic_Adjuster{}}, {Kind: &pb.Characteristic_Capacity{}, Limits: &pb.Limits{}}},
			Options:         []*pb.Option{{}, nil, {Amendment: &pb.Amendment{Add: []*pb.Characteristic{nil}, Override: []*pb.Characteristic{nil, {}}, Remove: []string{""}}}},
			Bulletins:       []*pb.Bulletin{{}, nil, {Vin: &pb.VinCoverage{Patterns: []string{"", "é"}}, EffectiveTime: &timestamppb.Timestamp{Nanos: -1}}},
			Rules:           []*pb.Rule{nil, {}},
			Examples:        []*pb.SetupRecord{nil, {}},
			Vin:             &pb.VinCoverage{Patterns: []string{"??"}},
			LeastTimes:      []*pb.LeastTime{nil, {}, nil},
		},
	} {
		t.Run(name, func(t *testing.T) {
			if problems := spec.Lint(sheet); len(problems) == 0 {
				t.Error("nothing is wrong with it")
			}
			if _, err := spec.NewRevision(sheet); err == nil {
				t.Error("it is accepted")
			}
		})
	}
}
