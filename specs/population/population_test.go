package population_test

import (
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"buf.build/go/protovalidate"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/specs"
	"github.com/snapgauge/snapgauge/specs/population"
)

// judges has the library and the engines of all demonstration sheets, made once.
var judges = sync.OnceValues(func() (*judge, error) {
	revisions, err := spec.Load(specs.FS)
	if err != nil {
		return nil, err
	}
	library, err := spec.NewLibrary(revisions)
	if err != nil {
		return nil, err
	}
	j := &judge{library: library, engines: make(map[string]*gauge.Engine)}
	for _, r := range revisions {
		if j.engines[r.Name()], err = gauge.Recompile(r); err != nil {
			return nil, err
		}
	}
	return j, nil
})

type judge struct {
	library *spec.Library
	engines map[string]*gauge.Engine
}

// revision gives the one in force when the record was finished.
func (j *judge) revision(t testing.TB, rec *pb.SetupRecord) *spec.Revision {
	t.Helper()
	unit := rec.GetUnit()
	r, err := j.library.InForce(unit.GetModel(), int(unit.GetModelYear()), unit.GetMarket(), rec.GetFinishTime().AsTime())
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func (j *judge) report(t testing.TB, rec *pb.SetupRecord) *pb.Report {
	t.Helper()
	report, err := j.engines[j.revision(t, rec).Name()].Gauge(rec, gauge.Options{AsOf: rec.GetFinishTime().AsTime(), Units: quantity.Metric})
	if err != nil {
		t.Fatalf("%v\n%v", err, rec)
	}
	return report
}

func judgeOf(t testing.TB) *judge {
	t.Helper()
	j, err := judges()
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func made(t testing.TB, c population.Config) *population.Population {
	t.Helper()
	p, err := population.New(c)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Honest records are accepted but for the mistakes that were made, and each is one
// that the service takes. Every sheet has some.
func TestHonest(t *testing.T) {
	j := judgeOf(t)
	const records = 6000
	accepted, faultless, rejectedFaultless := 0, 0, 0
	revisions, phases := make(map[string]bool), make(map[pb.Phase]bool)
	for rec, truth := range made(t, population.Honest(11, records)).Records() {
		if err := protovalidate.Validate(rec); err != nil {
			t.Fatalf("%v\n%v", err, rec)
		}
		report := j.report(t, rec)
		revisions[report.GetSpecRevision()], phases[rec.GetPhase()] = true, true
		ok := report.GetVerdict() == pb.Verdict_VERDICT_ACCEPT
		if ok {
			accepted++
		}
		if len(truth.Slips) == 0 {
			faultless++
			if !ok {
				rejectedFaultless++
				t.Logf("%d is not accepted: %v", truth.Index, report.GetFindings())
			}
		} else if ok && !slices.Contains(truth.Slips, population.SlipVIN) { // which may give the VIN of another unit
			t.Errorf("%d is accepted with %v", truth.Index, truth.Slips)
		}
		if truth.Habit != population.HabitHonest || truth.MadeUp || truth.CopyOf != nil || truth.SameVINAs != nil {
			t.Fatalf("%d is not honest: %+v", truth.Index, truth)
		}
	}
	if share := float64(accepted) / records; share < 0.80 || share > 0.97 {
		t.Errorf("%.3f of the records are accepted, want 0.80 to 0.97", share)
	}
	if rejectedFaultless > faultless/500 {
		t.Errorf("%d of %d records without a mistake are not accepted", rejectedFaultless, faultless)
	}
	for _, r := range j.engines {
		if !revisions[r.Revision().Name()] {
			t.Errorf("no record of %s", r.Revision().Name())
		}
	}
	if len(phases) != 4 {
		t.Errorf("phases: %v", phases)
	}
}

// A population without mistakes has none, whatever the seed.
func TestWithoutMistakes(t *testing.T) {
	j := judgeOf(t)
	wrong, all := 0, 0
	for seed := range uint64(4) {
		c := population.Honest(seed, 800)
		c.Mistakes = 0
		for rec, truth := range made(t, c).Records() {
			all++
			if len(truth.Slips) > 0 {
				t.Fatalf("%+v", truth)
			}
			if j.report(t, rec).GetVerdict() != pb.Verdict_VERDICT_ACCEPT {
				wrong++
			}
		}
	}
	if wrong > all/500 {
		t.Errorf("%d of %d are not accepted", wrong, all)
	}
}

// Records of every habit are such as the service takes, and they are finished by
// day.
func TestMixedIsTaken(t *testing.T) {
	j := judgeOf(t)
	habits := make(map[population.Habit]int)
	slips := make(map[population.Slip]int)
	last, n := int64(0), int64(0)
	for rec, truth := range made(t, population.Mixed(12, 8000)).Records() {
		if err := protovalidate.Validate(rec); err != nil {
			t.Fatalf("%v\n%v", err, rec)
		}
		j.report(t, rec)
		habits[truth.Habit]++
		for _, s := range truth.Slips {
			slips[s]++
		}
		if truth.Index != n || truth.Shop != rec.GetShop() || truth.Technician != rec.GetTechnician() {
			t.Fatalf("record %d: the truth is of another: %+v", n, truth)
		}
		n++
		day := rec.GetFinishTime().GetSeconds() / (24 * 60 * 60)
		if day < last {
			t.Fatalf("record %d is of an earlier day than the one before", truth.Index)
		}
		last = day
	}
	for _, h := range []population.Habit{population.HabitHonest, population.HabitCareless, population.HabitCopied, population.HabitInvented, population.HabitDrifting} {
		if habits[h] == 0 {
			t.Errorf("no record is %s", h)
		}
	}
	if habits[population.HabitHonest] < 5000 {
		t.Errorf("the honest are not the most: %v", habits)
	}
	for _, s := range []population.Slip{
		population.SlipMissingReading, population.SlipOutOfLimits, population.SlipFailed, population.SlipCondition, population.SlipOrder,
		population.SlipVIN, population.SlipCalibration, population.SlipFastenerUnsaid, population.SlipNoInstrument,
		population.SlipTimesAtOnce, population.SlipTooFast, population.SlipTooFine,
	} {
		if slips[s] == 0 {
			t.Errorf("no record has the slip %s", s)
		}
	}
}

// values are the measured readings of a record.
func values(rec *pb.SetupRecord, measured func(id string) bool) map[string]float64 {
	m := make(map[string]float64)
	for _, r := range rec.GetReadings() {
		if v, ok := r.GetResult().(*pb.Reading_Value); ok && measured(r.GetCharacteristic()) {
			m[r.GetCharacteristic()+r.GetStage().String()] = v.Value
		}
	}
	return m
}

// A copied record says what its source says, but for what was changed, of another
// unit at another time.
func TestCopiesRepeat(t *testing.T) {
	c := population.Mixed(13, 12000)
	c.Copying = 6
	any := func(string) bool { return true }
	type kept struct {
		vin    string
		values map[string]float64
	}
	records := make(map[int64]kept)
	copies, whole := 0, 0
	for rec, truth := range made(t, c).Records() {
		got := kept{rec.GetUnit().GetVin(), values(rec, any)}
		records[truth.Index] = got
		if truth.CopyOf == nil {
			continue
		}
		source, there := records[*truth.CopyOf]
		if !there || source.vin == got.vin {
			t.Fatalf("%d is a copy of %d, which is no earlier record of another unit", truth.Index, *truth.CopyOf)
		}
		differ := 0
		for id, v := range got.values {
			if source.values[id] != v {
				differ++
			}
		}
		if differ > truth.Changed || len(source.values) != len(got.values) {
			t.Errorf("%d differs from %d in %d of %d readings, want %d", truth.Index, *truth.CopyOf, differ, len(got.values), truth.Changed)
		}
		copies++
		if truth.Changed == 0 {
			whole++
		}
		if truth.Habit != population.HabitCopied {
			t.Errorf("%d is a copy by somebody %s", truth.Index, truth.Habit)
		}
	}
	if copies < 100 || whole < copies/3 || whole == copies {
		t.Errorf("%d copies, %d of them whole", copies, whole)
	}
}

// What is measured stands on the scale of its instrument, unless it is invented.
func TestValuesStandOnTheScale(t *testing.T) {
	for rec, truth := range made(t, population.Mixed(14, 6000)).Records() {
		resolution := make(map[string]float64)
		for _, in := range rec.GetInstruments() {
			resolution[in.GetId()] = in.GetResolution()
		}
		finer := false
		for _, r := range rec.GetReadings() {
			step := resolution[r.GetInstrument()]
			if step == 0 {
				continue
			}
			n := r.GetValue() / step
			if math.Abs(n-math.Round(n)) > 1e-6 {
				finer = true
			}
		}
		if said := slices.Contains(truth.Slips, population.SlipTooFine); finer != said {
			t.Errorf("%d (%s): finer than the instrument: %v, and the truth says %v", truth.Index, truth.Habit, finer, said)
		}
	}
}

// Nobody but who makes things up is faster than the least time.
func TestLeastTimes(t *testing.T) {
	j := judgeOf(t)
	hasty := 0
	for rec, truth := range made(t, population.Mixed(15, 5000)).Records() {
		took := rec.GetFinishTime().AsTime().Sub(rec.GetStartTime().AsTime()).Minutes()
		for _, least := range j.revision(t, rec).Sheet().GetLeastTimes() {
			if least.GetPhase() != rec.GetPhase() {
				continue
			}
			fast := took < float64(least.GetMinutes())
			if said := slices.Contains(truth.Slips, population.SlipTooFast); fast != said {
				t.Errorf("%d (%s) took %.0f of %d min, and the truth says %v", truth.Index, truth.Habit, took, least.GetMinutes(), said)
			}
			if fast {
				hasty++
			}
		}
	}
	if hasty < 50 {
		t.Errorf("%d are hasty", hasty)
	}
}

// A VIN has one record in each phase, unless a second was planted or it was
// mistyped.
func TestVINs(t *testing.T) {
	c := population.Mixed(16, 20000)
	c.SameVINShare = 0.01
	first := make(map[string]int64)
	again := 0
	for rec, truth := range made(t, c).Records() {
		if slices.Contains(truth.Slips, population.SlipVIN) {
			continue
		}
		key := rec.GetUnit().GetVin() + rec.GetPhase().String()
		if !strings.HasPrefix(key, "0") {
			t.Fatalf("%s may be a real maker's", rec.GetUnit().GetVin())
		}
		before, there := first[key]
		switch {
		case truth.SameVINAs != nil:
			again++
		case there:
			t.Errorf("%d has the VIN and phase of %d", truth.Index, before)
		}
		if !there {
			first[key] = truth.Index
		}
	}
	if again < 120 || again > 280 {
		t.Errorf("%d second records of 20000, want about 200", again)
	}
}

// A serial number is one instrument's, except that which was planted in two shops.
func TestSerialNumbers(t *testing.T) {
	shops := make(map[string]map[string]bool)
	shared := make(map[string]bool)
	for rec, truth := range made(t, population.Mixed(17, 4000)).Records() {
		for _, in := range rec.GetInstruments() {
			if shops[in.GetSerialNumber()] == nil {
				shops[in.GetSerialNumber()] = make(map[string]bool)
			}
			shops[in.GetSerialNumber()][rec.GetShop()] = true
		}
		if truth.SharedSerial != "" {
			shared[truth.SharedSerial] = true
		}
	}
	if len(shared) != 1 {
		t.Errorf("%d shared instruments are used, want 1", len(shared))
	}
	for serial, in := range shops {
		if want := 1 + map[bool]int{true: 1}[shared[serial]]; serial == "" || len(in) != want {
			t.Errorf("serial number %q is in %d shops, want %d", serial, len(in), want)
		}
	}
}

// What a drifting instrument reads moves steadily; what a wrench is set to does
// not.
func TestDrift(t *testing.T) {
	j := judgeOf(t)
	c := population.Honest(18, 20000)
	c.DriftingShops = 4
	type sums struct{ n, off float64 }
	drift := make(map[string]*[2]sums) // by instrument, for each half of the period
	var click [2]sums
	type machine struct {
		revision *spec.Revision
		options  string
	}
	known := make(map[machine]map[string]*pb.Characteristic)
	for rec, truth := range made(t, c).Records() {
		if truth.Habit != population.HabitDrifting {
			continue
		}
		half := 0
		if truth.Index >= 10000 {
			half = 1
		}
		key := machine{j.revision(t, rec), strings.Join(rec.GetOptions(), " ")}
		if known[key] == nil {
			resolved, err := key.revision.Resolve(rec.GetOptions(), nil)
			if err != nil {
				t.Fatal(err)
			}
			known[key] = make(map[string]*pb.Characteristic)
			for _, ch := range resolved.Characteristics {
				known[key][ch.GetId()] = ch
			}
		}
		for _, r := range rec.GetReadings() {
			ch := known[key][r.GetCharacteristic()]
			if ch == nil || r.GetResult() == nil || r.GetUnit() == "" || r.GetStage() == pb.Stage_STAGE_AS_FOUND {
				continue
			}
			l := ch.GetLimits()
			if l.GetNominal() <= 0 || l.Lower == nil || l.Upper == nil {
				continue
			}
			off := func() float64 {
				from, to := quantity.MustUnit(r.GetUnit()), quantity.MustUnit(l.GetUnit())
				v, err := from.Convert(r.GetValue(), to)
				if err != nil {
					t.Fatal(err)
				}
				return (v - l.GetNominal()) / (l.GetUpper() - l.GetLower())
			}
			if ch.GetFastener() != nil {
				click[half].n++
				click[half].off += off()
			}
			for _, in := range rec.GetInstruments() {
				if in.GetId() != r.GetInstrument() || in.GetSerialNumber() != truth.DriftingSerial || truth.DriftingSerial == "" {
					continue
				}
				if drift[truth.DriftingSerial] == nil {
					drift[truth.DriftingSerial] = new([2]sums)
				}
				s := &drift[truth.DriftingSerial][half]
				s.n++
				s.off += off()
			}
		}
	}
	if len(drift) != 4 {
		t.Errorf("%d instruments drift, want 4", len(drift))
	}
	for serial, s := range drift {
		if moved := s[1].off/s[1].n - s[0].off/s[0].n; math.Abs(moved) < 0.03 {
			t.Errorf("%s: readings move by %.3f of the tolerance from one half of the period to the other", serial, moved)
		}
	}
	if moved := click[1].off/click[1].n - click[0].off/click[0].n; math.Abs(moved) > 0.01 {
		t.Errorf("torques move by %.3f of the tolerance", moved)
	}
}

// The same configuration gives the same records, and another seed others.
func TestSame(t *testing.T) {
	first := made(t, population.Mixed(19, 400))
	var records []*pb.SetupRecord
	var truths []population.Truth
	for rec, truth := range first.Records() {
		records, truths = append(records, rec), append(truths, truth)
	}
	i := 0
	for rec, truth := range made(t, population.Mixed(19, 400)).Records() {
		if !proto.Equal(rec, records[i]) || truth.Habit != truths[i].Habit || !slices.Equal(truth.Slips, truths[i].Slips) {
			t.Fatalf("record %d is another the second time", i)
		}
		i++
	}
	i = 0
	same := 0
	for rec := range made(t, population.Mixed(20, 400)).Records() {
		if proto.Equal(rec, records[i]) {
			same++
		}
		i++
	}
	if same > 0 {
		t.Errorf("%d records are the same with another seed", same)
	}
}

// Memory does not grow with the number of records.
func TestMemory(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a while")
	}
	heap := func() uint64 {
		runtime.GC()
		var s runtime.MemStats
		runtime.ReadMemStats(&s)
		return s.HeapAlloc
	}
	var early uint64
	for _, truth := range made(t, population.Mixed(21, 60000)).Records() {
		// By a third every sheet is in force and every plan is made.
		if truth.Index == 50000 {
			early = heap()
		}
		if truth.Index == 59999 {
			if late := heap(); late > early+2<<20 {
				t.Errorf("the heap grew from %d to %d KiB in 10000 records", early>>10, late>>10)
			}
		}
	}
}

func TestConfigIsChecked(t *testing.T) {
	for name, test := range map[string]struct {
		spoil func(c *population.Config)
		want  string
	}{
		"records":   {func(c *population.Config) { c.Records = -1 }, "records: got -1"},
		"period":    {func(c *population.Config) { c.Until = c.From }, "period: "},
		"too early": {func(c *population.Config) { c.From = c.From.AddDate(-3, 0, 0) }, "no demonstration sheet is in force"},
		"shops":     {func(c *population.Config) { c.Shops = 0 }, "shops: got 0"},
		"people":    {func(c *population.Config) { c.MostTechnicians = 0 }, "technicians: got 1 to 0"},
		"cast":      {func(c *population.Config) { c.Copying = 1000 }, "technicians are too few"},
		"drifting":  {func(c *population.Config) { c.DriftingShops = 31 }, "30 shops are too few"},
		"negative":  {func(c *population.Config) { c.Careless = -1 }, "negative"},
		"share":     {func(c *population.Config) { c.CopiedShare = math.NaN() }, "copied share: got NaN"},
		"mistakes":  {func(c *population.Config) { c.Mistakes = -1 }, "mistakes: got -1"},
	} {
		t.Run(name, func(t *testing.T) {
			c := population.Mixed(1, 10)
			test.spoil(&c)
			if _, err := population.New(c); err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("got %v, want %q", err, test.want)
			}
		})
	}
	if _, err := population.Preset("crooked", 1, 1); err == nil {
		t.Error("a preset that is none is given")
	}
}

func BenchmarkRecords(b *testing.B) {
	p := made(b, population.Mixed(7, max(b.N, 10_000)))
	b.ReportAllocs()
	n := 0
	b.ResetTimer()
	for range p.Records() {
		if n++; n >= b.N {
			break
		}
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "records/s")
}
