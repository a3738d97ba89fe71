package jobplan_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/jobplan"
	"github.com/snapgauge/snapgauge/service/quantity"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %v, want %v within %v", what, got, want, within)
	}
}

func hasCaution(plan *pb.JobPlan, part string) bool {
	return slices.ContainsFunc(plan.GetCautions(), func(c string) bool { return strings.Contains(c, part) })
}

func TestNothingComputedWithoutRiderAndAir(t *testing.T) {
	for _, rev := range revisions(t) {
		plan := make1(t, rev, jobplan.Request{Phase: pb.Phase_PHASE_FIRST_SERVICE, AsOf: day})
		for _, formula := range []string{"sag-for-spring", "spring-for-sag", "tyre-pressure", "main-jet", "viscosity-suits"} {
			if len(calculations(plan, formula)) > 0 {
				t.Errorf("%s: %s was worked out of nothing", rev.Name(), formula)
			}
		}
		for _, s := range plan.GetSteps() {
			if s.GetComputedBy() != "" {
				t.Errorf("%s: the target of %s is computed", rev.Name(), s.GetCharacteristic())
			}
		}
		if hasCaution(plan, "not worked out") {
			t.Errorf("%s: what was not asked for is missed: %q", rev.Name(), plan.GetCautions())
		}
	}
}

func TestPremix(t *testing.T) {
	dose := func(plan *pb.JobPlan) float64 {
		return result(t, calculation(t, plan, "premix-dose"), "oil").GetValue()
	}

	plan := make1(t, revision(t, scree, 3), jobplan.Request{AsOf: day})
	near(t, "the first tank's oil", dose(plan), 80, 1e-9)
	near(t, "the ratio of both oils", result(t, calculation(t, plan, "effective-ratio"), "effective").GetValue(), 1/(1./50+1./60), 1e-6)
	if by := stepOf(t, plan, "first_tank_premix").GetComputedBy(); by != "premix-dose" {
		t.Errorf("the step is computed by %q", by)
	}

	// With the pump off, the kit's ratio holds, in every tank.
	kit := jobplan.Request{Options: []string{"premix_kit"}, AsOf: day}
	plan = make1(t, revision(t, scree, 3), kit)
	near(t, "the kit's oil", dose(plan), 100, 1e-9)
	if len(calculations(plan, "effective-ratio")) > 0 {
		t.Error("oil is injected by a pump that is off")
	}
	kit.Phase = pb.Phase_PHASE_FIRST_SERVICE
	near(t, "the kit's oil at the first service", dose(make1(t, revision(t, scree, 3), kit)), 100, 1e-9)

	// The first tank is long gone then.
	plan = make1(t, revision(t, scree, 3), jobplan.Request{Phase: pb.Phase_PHASE_FIRST_SERVICE, AsOf: day})
	if len(calculations(plan, "premix-dose")) > 0 {
		t.Error("oil for the first tank at the first service")
	}

	plan = make1(t, revision(t, gannet, 2), jobplan.Request{AsOf: day, Units: quantity.USCustomary})
	near(t, "the mixture's oil", dose(plan), 6000./45, 1e-6)
	if got := result(t, calculation(t, plan, "premix-dose"), "oil").GetText(); got != "4.51 fl oz" {
		t.Errorf("said as %q, want 4.51 fl oz", got)
	}
}

// The stated safe fills of the demo sheets are those of their tanks.
func TestStatedSafeFillAgreesWithTank(t *testing.T) {
	tanks := 0
	for _, rev := range revisions(t) {
		for _, c := range rev.Sheet().GetCharacteristics() {
			capacity := c.GetCapacity()
			if capacity.GetContainer() == nil {
				continue
			}
			tanks++
			plan := make1(t, rev, jobplan.Request{AsOf: day})
			found := calculations(plan, "tilt-safe-fill")
			if len(found) != 1 {
				t.Fatalf("%s: got %d safe fills", rev.Name(), len(found))
			}
			unit, err := quantity.ParseUnit(c.GetLimits().GetUnit())
			if err != nil {
				t.Fatal(err)
			}
			stated, err := unit.Convert(capacity.GetSafeFill(), quantity.MustUnit("mL"))
			if err != nil {
				t.Fatal(err)
			}
			near(t, rev.Name()+" "+c.GetId(), result(t, found[0], "safe_fill").GetValue(), stated, stated*0.001)
			if by := stepOf(t, plan, c.GetId()).GetComputedBy(); by != "" {
				t.Errorf("%s: a safe target was changed by %s", rev.Name(), by)
			}
		}
	}
	if tanks != 6 {
		t.Errorf("%d tanks on the demo sheets, want 6", tanks)
	}
}

func TestPickups(t *testing.T) {
	c := calculation(t, make1(t, revision(t, gannet, 2), jobplan.Request{AsOf: day}), "tilt-safe-fill")
	main, reserve, unusable := result(t, c, "main").GetValue(), result(t, c, "reserve").GetValue(), result(t, c, "unusable").GetValue()
	near(t, "what the main pick-up leaves", reserve+unusable, 2800, 10) // the sheet's rule says 2.8 L
	near(t, "all parts", main+reserve+unusable, 6000, 1e-4)
}

func TestSafeFill(t *testing.T) {
	c := calculation(t, make1(t, bench(t, nil), jobplan.Request{AsOf: day}), "tilt-safe-fill")
	// A box of 10 mL a millimetre. Leaning, the surface meets the lip's lowest point,
	// less the margin; over the middle it stands lower by that point's distance from
	// there times the tangent of the lean.
	const lean = 15 * math.Pi / 180
	spill := 130 - (40+10)*math.Tan(lean)
	near(t, "safe fill", result(t, c, "safe_fill").GetValue(), 10*(spill-5/math.Cos(lean)), 1e-3)
	near(t, "brim upright", result(t, c, "brim_upright").GetValue(), 1300, 1e-6)
	near(t, "brim leaning", result(t, c, "brim_leaning").GetValue(), 10*spill, 1e-3)
	near(t, "freeboard", result(t, c, "freeboard_leaning").GetValue(), (spill-100)*math.Cos(lean), 1e-3)
	near(t, "usable", result(t, c, "usable").GetValue(), 1000-200, 1e-6)
}

func TestFillBelowPickUp(t *testing.T) {
	plan := make1(t, bench(t, func(sheet *pb.SpecSheet) {
		tank := sheet.Characteristics[0].GetCapacity().GetContainer()
		tank.Pickup.ZMm = 102
		tank.ReservePickup = &pb.ContainerPoint{XMm: 50, ZMm: 10}
	}), jobplan.Request{AsOf: day})
	c := calculation(t, plan, "tilt-safe-fill")
	near(t, "main", result(t, c, "main").GetValue(), 0, 0)
	near(t, "reserve", result(t, c, "reserve").GetValue(), 900, 1e-6)
	if !strings.Contains(c.GetCaution(), "start on reserve") {
		t.Errorf("caution %q", c.GetCaution())
	}
}

func TestTyrePressure(t *testing.T) {
	rev := bench(t, nil)
	set := func(a *pb.Ambient) (*pb.JobPlan, *pb.PlanStep, float64) {
		plan := make1(t, rev, jobplan.Request{AsOf: day, Ambient: a})
		return plan, stepOf(t, plan, "tyre"), result(t, calculation(t, plan, "tyre-pressure"), "reads").GetValue()
	}
	_, s, kPa := set(air(20, 0, 50))
	near(t, "at the reference", kPa, 200, 1e-9)
	near(t, "target", s.GetTarget().GetMetricValue(), 2, 1e-9)

	_, s, kPa = set(air(10, 0, 50))
	near(t, "cooler", kPa, (200+101.325)*283.15/293.15-101.325, 1e-6)
	near(t, "target, whatever the weather", s.GetTarget().GetMetricValue(), 2, 1e-9)
	if s.GetComputedBy() != "" {
		t.Errorf("computed by %q, want the figure of the sheet", s.GetComputedBy())
	}

	plan, s, kPa := set(air(-10, 0, 50))
	near(t, "cold", kPa, (200+101.325)*263.15/293.15-101.325, 1e-6)
	near(t, "target in the cold", s.GetTarget().GetMetricValue(), 2, 1e-9)
	if caution := calculation(t, plan, "tyre-pressure").GetCaution(); !strings.Contains(caution, "the temperature they will be ridden at") {
		t.Errorf("caution %q", caution)
	}

	// Higher up the air outside is thinner, so the temperature counts for less.
	_, _, low := set(air(0, 0, 50))
	plan, _, high := set(air(0, 3000, 50))
	if !(high > low && high < 200) {
		t.Errorf("at 3000 m %v kPa, at sea level %v", high, low)
	}
	if caution := calculation(t, plan, "tyre-pressure").GetCaution(); !strings.Contains(caution, "another altitude") {
		t.Errorf("caution %q", caution)
	}
	near(t, "change to sea level", result(t, calculation(t, plan, "tyre-pressure"), "change_at_sea_level").GetValue(), 70.12-101.325, 0.05)
}

func TestFormulaOutOfRangeIsLeftOut(t *testing.T) {
	plan := make1(t, revision(t, scree, 3), jobplan.Request{AsOf: day, Ambient: air(-39, 0, 50)})
	if len(calculations(plan, "main-jet")) > 0 || !hasCaution(plan, "The main jet for this air was not worked out: ") {
		t.Errorf("cautions %q", plan.GetCautions())
	}
	plan = make1(t, revision(t, scree, 3), jobplan.Request{AsOf: day, Ambient: air(math.NaN(), 0, 50), Rider: rider(math.Inf(1), 0)})
	if len(calculations(plan, "tyre-pressure"))+len(calculations(plan, "sag-for-spring")) > 0 {
		t.Error("something was worked out of what is no number")
	}
}

func TestJetting(t *testing.T) {
	rev := revision(t, scree, 3)
	jet := func(a *pb.Ambient, options ...string) (from, to float64, caution string) {
		c := calculation(t, make1(t, rev, jobplan.Request{AsOf: day, Ambient: a, Options: options}), "main-jet")
		return c.GetInputs()[0].GetValue(), result(t, c, "jet").GetValue(), c.GetCaution()
	}
	if _, to, caution := jet(air(20, 200, 50)); to != 145 || !strings.Contains(caution, "The jet stays.") {
		t.Errorf("in the reference air: %v, %q", to, caution)
	}
	// Half way up a mountain: by flow, the number goes with the root of density.
	if _, to, caution := jet(air(20, 2200, 50)); to != 130 ||
		!strings.Contains(caution, "denser air") || !strings.Contains(caution, "The sheet accepts 145 only") {
		t.Errorf("at 2200 m: %v, %q", to, caution)
	}
	if from, to, _ := jet(air(20, 200, 50), "jet_kit"); from != 152 || to != 152 {
		t.Errorf("with the jet kit: from %v to %v, want 152", from, to)
	}
	plan := make1(t, rev, jobplan.Request{AsOf: day, Ambient: air(20, 200, 50), Options: []string{"flat_slide_carburettor"}})
	if len(calculations(plan, "main-jet")) > 0 || !hasCaution(plan, "138, is none of the series") {
		t.Errorf("another carburettor was jetted by this one's series; cautions %q", plan.GetCautions())
	}
	// Denser than any jet of the series can follow.
	plan = make1(t, rev, jobplan.Request{AsOf: day, Ambient: air(-25, -400, 50), Options: []string{"jet_kit"}})
	if !hasCaution(plan, "the largest that can be had is 160") {
		t.Errorf("cautions %q", plan.GetCautions())
	}
}

func TestSuspension(t *testing.T) {
	// On the bench: machine 1150 N, a wheel rate of 25 N/mm, so 46 mm and 1 mm less
	// for each 0.5 mm of preload; the rider sinks it by 1 mm for each 25 N.
	rev := bench(t, nil)
	fit := func(mass float64, options ...string) *pb.JobPlan {
		return make1(t, rev, jobplan.Request{AsOf: day, Rider: rider(mass-5, 5), Options: options})
	}
	mass := 25 * 25 / 9.80665 / 0.7 // 25 mm
	plan := fit(mass)
	c := calculation(t, plan, "sag-for-spring")
	near(t, "preload", result(t, c, "preload").GetValue(), 8, 1e-9) // 71 - 55 mm at the wheel
	near(t, "static sag", result(t, c, "static_sag").GetValue(), 30, 1e-3)
	near(t, "race sag", result(t, c, "race_sag").GetValue(), 55, 1e-3)
	s := stepOf(t, plan, "collar")
	if s.GetComputedBy() != "sag-for-spring" || s.GetTargetText() != "4 turns in from spring just touched (2 to 6 turns)" {
		t.Errorf("collar: %q by %q", s.GetTargetText(), s.GetComputedBy())
	}
	c = calculation(t, plan, "spring-for-sag")
	near(t, "rate wanted", result(t, c, "spring_rate").GetValue(), 100, 1e-6)
	if got := result(t, c, "advice").GetText(); got != "The fitted spring of 100 N/mm suits this rider." || hasCaution(plan, "spring") {
		t.Errorf("advice %q, cautions %q", got, plan.GetCautions())
	}

	// 37.5 mm of rider: 20 mm of static sag go with 57.5 to 60 mm of race sag.
	plan = fit(mass * 1.5)
	want := "The fitted spring of 100 N/mm just suits this rider: set to 58.8 mm of race sag it leaves 21.3 mm of static sag. " +
		"The option hard spring of 150 N/mm would suit better."
	c = calculation(t, plan, "spring-for-sag")
	near(t, "rate wanted", result(t, c, "spring_rate").GetValue(), 150, 1e-6)
	if got := result(t, c, "advice").GetText(); got != want || hasCaution(plan, "spring") {
		t.Errorf("advice %q, want %q", got, want)
	}
	near(t, "static sag", result(t, calculation(t, plan, "sag-for-spring"), "static_sag").GetValue(), 22, 1e-3) // half a turn, 2 mm, the nearest

	// 45 mm of rider: too soft, and only the option's spring is harder.
	plan = fit(mass * 1.8)
	c = calculation(t, plan, "spring-for-sag")
	if !strings.Contains(c.GetCaution(), "No spring gives both sags") { // 180 N/mm would be loose
		t.Errorf("caution %q", c.GetCaution())
	}
	near(t, "nearest", result(t, c, "available_rate").GetValue(), 150, 1e-9)
	want = "The fitted spring of 100 N/mm is too soft for this rider: with the race sag right, only 10 mm of static sag is left, and 20 mm is the least. " +
		"Fit the option hard spring of 150 N/mm. Set to 55 mm of race sag it leaves 25 mm of static sag."
	if got := result(t, c, "advice").GetText(); got != want || !hasCaution(plan, want) {
		t.Errorf("advice %q, want %q", got, want)
	}
	if c := calculation(t, plan, "sag-for-spring"); !strings.Contains(c.GetCaution(), "do not bring the race sag between 50 mm and 60 mm") {
		t.Errorf("caution %q", c.GetCaution())
	}
	if got := stepOf(t, plan, "collar").GetTarget().GetMetricValue(); got != 6 {
		t.Errorf("collar at %v turns, want 6, its limit", got)
	}
	// Far too heavy for all of them.
	if got := result(t, calculation(t, fit(mass*3), "spring-for-sag"), "advice").GetText(); !strings.HasSuffix(got, "It comes nearer and still does not suit: ask the maker.") {
		t.Errorf("advice %q", got)
	}
	if got := result(t, calculation(t, fit(mass*3, "hard_spring"), "spring-for-sag"), "advice").GetText(); !strings.HasSuffix(got, "Ask the maker.") {
		t.Errorf("advice %q", got)
	}

	// With that spring fitted it is reckoned with.
	plan = fit(mass*1.8, "hard_spring")
	if got := result(t, calculation(t, plan, "spring-for-sag"), "advice").GetText(); got != "The fitted spring of 150 N/mm suits this rider." {
		t.Errorf("advice %q", got)
	}
	plan = fit(mass*0.5, "hard_spring")
	if got := result(t, calculation(t, plan, "spring-for-sag"), "advice").GetText(); !strings.Contains(got, "too hard") || !strings.Contains(got, "Fit the spring of 80 N/mm") {
		t.Errorf("advice %q", got)
	}

	// Another linkage: nothing is known of it.
	plan = fit(mass, "long_link")
	if len(calculations(plan, "sag-for-spring")) > 0 || !hasCaution(plan, "long link changes it") {
		t.Errorf("cautions %q", plan.GetCautions())
	}

	plan = fit(mass, "rigid_rear")
	if len(calculations(plan, "sag-for-spring")) > 0 || !hasCaution(plan, "aims at no race sag") {
		t.Errorf("cautions %q", plan.GetCautions())
	}

	// A machine so light that the spring would be loose.
	plan = make1(t, bench(t, func(sheet *pb.SpecSheet) { sheet.GetPlanning().GetRearSuspension().SprungMassKg = 40 }),
		jobplan.Request{AsOf: day, Rider: rider(mass-5, 5)})
	if got := result(t, calculation(t, plan, "spring-for-sag"), "advice").GetText(); !strings.Contains(got, "too hard for this rider: with the race sag right, it would be loose") {
		t.Errorf("advice %q", got)
	}

	// A collar whose nought is not the spring just touched is left as the sheet has it.
	plan = make1(t, bench(t, func(sheet *pb.SpecSheet) {
		limits := sheet.Characteristics[3].GetLimits()
		*limits.Upper, *limits.Nominal = 9.5, 9
	}), jobplan.Request{AsOf: day, Rider: rider(mass-5, 5)})
	if s := stepOf(t, plan, "collar"); s.GetComputedBy() != "" || s.GetTarget().GetMetricValue() != 9 {
		t.Errorf("collar: %v by %q", s.GetTarget(), s.GetComputedBy())
	}
}

// The riders that the demo sheets name for their springs are those that the
// planning data give.
func TestDemoSpringsSuitTheirRiders(t *testing.T) {
	for _, test := range []struct {
		spec          string
		number        int
		light, heavy  float64 // with gear: suits the standard spring, needs the option
		option, named string
	}{
		{scree, 3, 86, 106, "spring_kit_heavy", "Fit the option heavy rear spring of 78 N/mm."},
		{gannet, 2, 79, 95, "heavy_springs", "Fit the option heavy spring set of 53 N/mm."},
		{heron25, 1, 81, 97, "heavy_springs", "Fit the option heavy spring set of 57 N/mm."},
		{heron, 2, 83, 99, "heavy_springs", "Fit the option heavy spring set of 57 N/mm."},
		{glade, 2, 75, 97, "firm_shock_spring", "Fit the option firm shock spring of 58 N/mm."},
		{causeway, 2, 77, 96.5, "firm_shock_spring", "Fit the option firm shock spring of 72 N/mm."},
	} {
		rev := revision(t, test.spec, test.number)
		advice := func(mass float64, options ...string) string {
			plan := make1(t, rev, jobplan.Request{AsOf: day, Rider: rider(mass-7, 7), Options: options})
			return result(t, calculation(t, plan, "spring-for-sag"), "advice").GetText()
		}
		if got := advice(test.light); !strings.HasSuffix(got, "suits this rider.") {
			t.Errorf("%s, %v kg: %s", test.spec, test.light, got)
		}
		if got := advice(test.heavy); !strings.Contains(got, "too soft") || !strings.Contains(got, test.named) {
			t.Errorf("%s, %v kg: %s", test.spec, test.heavy, got)
		}
		if got := advice(test.heavy, test.option); !strings.Contains(got, "suits this rider") {
			t.Errorf("%s, %v kg, %s: %s", test.spec, test.heavy, test.option, got)
		}
	}
}

// Every figure of the planning data stands on the sheet as well, so that options
// can change it.
func TestDemoPlanningAgreesWithSheet(t *testing.T) {
	for _, rev := range revisions(t) {
		sheet := rev.Sheet()
		s := sheet.GetPlanning().GetRearSuspension()
		if s == nil {
			t.Errorf("%s has no suspension data", rev.Name())
			continue
		}
		i := slices.IndexFunc(sheet.GetCharacteristics(), func(c *pb.Characteristic) bool { return c.GetId() == "shock_spring_rate" })
		limits := sheet.GetCharacteristics()[i].GetLimits()
		unit, err := quantity.ParseUnit(limits.GetUnit())
		if err != nil {
			t.Fatal(err)
		}
		rate, err := unit.Convert(limits.GetNominal(), quantity.MustUnit("N/mm"))
		if err != nil {
			t.Fatal(err)
		}
		near(t, rev.Name()+" spring", s.GetSpringRateNPerMm(), rate, rate*0.005)
	}
}

func TestEngineOil(t *testing.T) {
	verdict := func(rev string, number int, temperature float64) (string, bool) {
		plan := make1(t, revision(t, rev, number), jobplan.Request{AsOf: day, Ambient: air(temperature, 0, 50)})
		return result(t, calculation(t, plan, "viscosity-suits"), "verdict").GetText(), hasCaution(plan, "Ask the maker which grade to fill")
	}
	for _, test := range []struct {
		spec        string
		temperature float64
		want        string
	}{
		{heron, 15, "suits"}, {heron, -29, "does not suit"}, {causeway, 30, "suits"}, {causeway, 45, "does not suit"},
	} {
		got, warned := verdict(test.spec, 2, test.temperature)
		if got != test.want || warned != (test.want != "suits") {
			t.Errorf("%s at %v °C: %q, warned %v; want %q", test.spec, test.temperature, got, warned, test.want)
		}
	}
	// Gear oils and fork oils have grades of other scales.
	for _, id := range []string{scree, gannet, glade} {
		plan := make1(t, revision(t, id, 2), jobplan.Request{AsOf: day, Phase: pb.Phase_PHASE_FIRST_SERVICE, Ambient: air(-30, 0, 50)})
		if len(calculations(plan, "viscosity-suits")) > 0 {
			t.Errorf("%s: a grade of another scale was taken for an engine oil's", id)
		}
	}
}

func TestRoadUse(t *testing.T) {
	cautions := func(rev string, number int, use pb.IntendedUse, options ...string) *pb.JobPlan {
		return make1(t, revision(t, rev, number), jobplan.Request{AsOf: day, Use: use, Options: options})
	}
	const road = pb.IntendedUse_INTENDED_USE_ROAD
	if plan := cautions(causeway, 2, road, "off_highway_kit", "rim_lock_kit"); !hasCaution(plan, "Not fit for the road as it is to be fitted: with off-highway kit, these are gone: ") {
		t.Errorf("cautions %q", plan.GetCautions())
	}
	if plan := cautions(scree, 3, road, "jet_kit", "free_flow_silencer"); !hasCaution(plan, "of free-flow silencer the sheet says: ") {
		t.Errorf("cautions %q", plan.GetCautions())
	}
	for _, plan := range []*pb.JobPlan{
		cautions(causeway, 2, pb.IntendedUse_INTENDED_USE_ENDURO, "off_highway_kit", "rim_lock_kit"),
		cautions(causeway, 2, road, "luggage_rack"),
		cautions(scree, 3, road, "battery_less", "kickstart_kit"),
	} {
		if hasCaution(plan, "for the road") {
			t.Errorf("cautions %q", plan.GetCautions())
		}
	}
	plan := make1(t, bench(t, nil), jobplan.Request{AsOf: day, Use: road, Options: []string{"track_kit", "loud_pipe"}})
	if !hasCaution(plan, "these are gone: headlamp works") || !hasCaution(plan, "of loud pipe the sheet says: A pipe for closed courses.") {
		t.Errorf("cautions %q", plan.GetCautions())
	}
}
