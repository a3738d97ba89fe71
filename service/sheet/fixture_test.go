package sheet

import (
	"os"
	"slices"
	"sync"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/internal/golden"
	"github.com/snapgauge/snapgauge/service/jobplan"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/vin"
	"github.com/snapgauge/snapgauge/specs"
)

var made = time.Date(2026, 4, 1, 9, 30, 0, 0, time.UTC)

// subject to be printed: a revision with a plan, a record and its report.
type fixture struct {
	rev      *spec.Revision
	resolved *spec.Resolved
	plan     *pb.JobPlan
	rec      *pb.SetupRecord
	report   *pb.Report
	units    quantity.System
}

func (f *fixture) job(opt Options) *Sheet {
	opt.Specified, opt.Units = f.resolved, f.units
	return Job(f.plan, opt)
}

func (f *fixture) filled(opt Options) *Sheet {
	opt.Specified, opt.Units = f.resolved, f.units
	return JobFilled(f.plan, f.rec, opt)
}

func (f *fixture) handover(opt Options) *Sheet {
	opt.Units = f.units
	return Handover(f.rev, f.resolved, f.rec, f.report, opt)
}

func decode(t testing.TB, path string, m proto.Message) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := document.Decode(data, m, document.Options{Name: path}); err != nil {
		t.Fatal(err)
	}
}

// probe is the small invented sheet of testdata, with a record that has one
// reading of every sort: right, wrong, undecided, put right, overfilled.
func probe(t testing.TB, units quantity.System) *fixture {
	t.Helper()
	var file pb.SheetFile
	decode(t, "testdata/sheet.yaml", &file)
	var rec pb.SetupRecord
	decode(t, "testdata/record.yaml", &rec)
	rev, err := spec.NewRevision(file.GetSheet())
	if err != nil {
		t.Fatal(err)
	}
	f := newFixture(t, rev, &rec, units)
	if units != quantity.Metric {
		return f
	}
	// The report is kept, so that the golden files change with this package only.
	const kept = "testdata/report.yaml"
	if golden.Updating() {
		data, err := document.Encode(f.report)
		if err != nil {
			t.Fatal(err)
		}
		golden.Check(t, kept, data)
		return f
	}
	f.report = &pb.Report{}
	decode(t, kept, f.report)
	return f
}

var demoRevisions = sync.OnceValues(func() ([]*spec.Revision, error) { return spec.Load(specs.FS) })

// demo is one of the demonstration records, with the plan of its job.
func demo(t testing.TB, path string, units quantity.System) *fixture {
	t.Helper()
	var rec pb.SetupRecord
	decode(t, path, &rec)
	revs, err := demoRevisions()
	if err != nil {
		t.Fatal(err)
	}
	library, err := spec.NewLibrary(revs)
	if err != nil {
		t.Fatal(err)
	}
	unit := rec.GetUnit()
	rev, err := library.InForce(unit.GetModel(), int(unit.GetModelYear()), unit.GetMarket(), rec.GetFinishTime().AsTime())
	if err != nil {
		t.Fatal(err)
	}
	f := newFixture(t, rev, &rec, units)
	number, _ := vin.Parse(unit.GetVin()) // a bad one has no bulletins
	f.plan, err = jobplan.Make(rev, jobplan.Request{
		Phase:   rec.GetPhase(),
		Options: f.resolved.Options,
		VIN:     number,
		Rider:   &pb.Rider{MassKg: 80, GearMassKg: 9},
		Ambient: &pb.Ambient{TemperatureC: 22, AltitudeM: 900, HumidityPercent: 40},
		AsOf:    rec.GetFinishTime().AsTime(),
		Units:   units,
	})
	if err != nil {
		t.Skipf("no plan for %s: %v", path, err)
	}
	return f
}

const demoRecords = "../../specs/records/"

func newFixture(t testing.TB, rev *spec.Revision, rec *pb.SetupRecord, units quantity.System) *fixture {
	t.Helper()
	engine, err := gauge.Compile(rev)
	if err != nil {
		t.Fatal(err)
	}
	report, err := engine.Gauge(rec, gauge.Options{AsOf: rec.GetFinishTime().AsTime(), Units: units, Full: true})
	if err != nil {
		t.Fatal(err)
	}
	resolved, err := rev.Resolve(rec.GetOptions(), report.GetBulletins())
	if err != nil {
		t.Fatal(err)
	}
	return &fixture{rev: rev, resolved: resolved, plan: planFor(rev, resolved, rec, units), rec: rec, report: report, units: units}
}

// planFor makes a plan of everything on the sheet, on its own so that what is
// printed of it changes with this package only.
func planFor(rev *spec.Revision, resolved *spec.Resolved, rec *pb.SetupRecord, units quantity.System) *pb.JobPlan {
	sheet := rev.Sheet()
	plan := &pb.JobPlan{
		SpecRevision: rev.Name(),
		Digest:       rev.Digest(),
		AsOfTime:     rec.GetFinishTime(),
		Machine:      machineWords(sheet),
		Phase:        rec.GetPhase(),
		Options:      rec.GetOptions(),
		Cautions:     sheet.GetCautions(),
		Invented:     sheet.GetInvented(),
	}
	number := map[string]int32{}
	byPlace := slices.Clone(resolved.Characteristics)
	slices.SortStableFunc(byPlace, func(a, b *pb.Characteristic) int { return int(a.GetGroup()) - int(b.GetGroup()) })
	for i, c := range byPlace {
		number[c.GetId()] = int32(i + 1)
		step := &pb.PlanStep{
			Number:         int32(i + 1),
			Characteristic: c.GetId(),
			DisplayName:    c.GetDisplayName(),
			Place:          phrase.LowerFirst(phrase.UpperFirst(phrase.Place(c.GetGroup()))),
			TargetText:     specified(c, units),
			Method:         c.GetMethod(),
			Tools:          c.GetTools(),
			Caution:        c.GetCaution(),
			Severity:       c.GetSeverity(),
			Source:         c.GetSource(),
		}
		if c.GetLimits() != nil {
			step.Target = &pb.DualQuantity{}
		}
		for _, p := range c.GetPrerequisites() {
			step.After = append(step.After, number[p])
		}
		for _, tool := range c.GetTools() {
			if !slices.Contains(plan.Tools, tool) {
				plan.Tools = append(plan.Tools, tool)
			}
		}
		if fill := c.GetCapacity(); fill != nil && c.GetLimits().Nominal != nil {
			plan.Consumables = append(plan.Consumables, &pb.Consumable{
				Name:            fill.GetFluid(),
				Amount:          dualOf(c, c.GetLimits().GetNominal()),
				Characteristics: []string{c.GetId()},
			})
		}
		if c.GetFastener().GetRenew() {
			plan.Consumables = append(plan.Consumables, &pb.Consumable{Name: "new fastener for " + phrase.LowerFirst(c.GetDisplayName()), Pieces: max(1, c.GetFastener().GetPieces())})
		}
		plan.Steps = append(plan.Steps, step)
	}
	plan.Calculations = []*pb.Calculation{{
		Formula:     "pre-mix dose",
		Description: "oil to mix into the first tank of fuel",
		Inputs: []*pb.CalculatedValue{
			{Name: "fuel", Description: "fuel in the first tank", Value: 4, Unit: "L", Text: "4 L"},
			{Name: "ratio", Description: "parts of fuel to one of oil", Value: 50, Unit: "1", Text: "50"},
		},
		Results: []*pb.CalculatedValue{{Name: "dose", Description: "of oil", Value: 80, Unit: "mL", Text: "80 mL"}},
		Source:  "common practice, no source",
		Caution: "The engine smokes until this tank is gone.",
	}}
	return plan
}

func dualOf(c *pb.Characteristic, v float64) *pb.DualQuantity {
	u := c.GetLimits().GetUnit()
	unit := quantity.MustUnit(u)
	us := unit.In(quantity.USCustomary, v)
	converted, _ := unit.Convert(v, us)
	return &pb.DualQuantity{MetricValue: v, MetricUnit: unit.Code(), UsValue: converted, UsUnit: us.Code()}
}
