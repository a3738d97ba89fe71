package audit

import (
	"crypto/sha256"
	"fmt"
	"math/rand/v2"
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/statistic"
)

// fullAuditor is one at all its bounds, after billions of records.
func fullAuditor(t testing.TB) *Auditor {
	t.Helper()
	const count = 1_000_000 // each number of records takes five bytes
	rng := rand.New(rand.NewPCG(1, 1))
	a := newAuditor()
	a.Records = 1 << 37
	a.First, a.Last = instant{Seconds: 1_700_000_000}, instant{Seconds: 1_800_000_000}
	record := func() int64 { return 1<<36 + rng.Int64N(1<<36) }
	counts := func() tally {
		t := tally{Verdicts: [5]int64{0, count, count, count, count}}
		for sign := 1; sign < recordSigns; sign++ {
			t.Chances[sign], t.Shown[sign] = 4*count, rng.Int64N(count)+count/2
		}
		return t
	}
	for i := range mostReasons {
		a.Reasons[fmt.Sprintf("REASON_%d", i)] = count
	}
	for i := range mostShops {
		a.Shops.place(fmt.Sprintf("a-shop-with-quite-a-long-name-for-its-trade-%d", i), mostShops)
	}
	for i := range mostTechnicians {
		a.People.place(fmt.Sprintf("a-shop-with-quite-a-long-name-for-its-trade-%d\nTechnician with a name %d", i%mostShops, i), mostTechnicians)
	}
	for i := range mostRevisions {
		a.Revised.place(fmt.Sprintf("specs/some-spec-of-a-year-%d/revisions/%d", i/4, i%4+1), mostRevisions)
	}
	for i := range a.People.size() {
		a.ByHand = append(a.ByHand, counts())
		a.Works = append(a.Works, int32(i%mostShops)+1)
	}
	for range a.Shops.size() {
		a.ByShop = append(a.ByShop, counts())
	}
	for range a.Revised.size() {
		a.ByRev = append(a.ByRev, counts())
		a.Models = append(a.Models, "A model and its long name")
	}
	for i := range int32(mostMonths) {
		month := counts()
		a.ByMonth[24_000+i] = &month
	}
	for i := range int32(mostDuties) {
		duty := counts()
		a.Duties[dutyOf(1+i%mostRevisions, pb.Phase(1+i/mostRevisions%4), 1+i%mostTechnicians/4+i/(4*mostRevisions)*512)] = &duty
	}
	moments := func() statistic.Moments {
		return statistic.Moments{N: count, Mean: rng.Float64(), MeanLow: 1e-17 * rng.Float64(), M2: count * rng.Float64()}
	}
	spread := func() values {
		v := values{Moments: moments(), Min: rng.Float64(), Max: 1 + rng.Float64(), Outside: count, Below: count, Above: count, Cells: make([]int64, histogramCells)}
		for i := range v.Cells {
			v.Cells[i] = count
		}
		return v
	}
	sum := outcomes{0, count, count, count, count}
	const chars = 512
	for i := range mostCharacteristics {
		c := &characteristic{
			Spec: fmt.Sprintf("some-spec-of-a-year-%d", i/32), ID: fmt.Sprintf("characteristic_of_a_kind_%d", i),
			Name: "A characteristic and what it is called", Unit: "mm", Outcomes: sum,
		}
		a.Chars = append(a.Chars, c)
		if i >= chars {
			continue
		}
		c.Months, c.Revisions, c.Shops = map[int32]*period{}, map[int32]*period{}, map[int32]*shopCell{}
		for k := range int32(mostCells / chars) {
			c.Months[24_000+k] = &period{Moments: moments(), Outcomes: sum}
			c.Revisions[1+k] = &period{Moments: moments(), Outcomes: sum}
			c.Shops[1+(k+37*int32(i))%mostShops] = &shopCell{Outcomes: sum, Line: statistic.Line{
				N: count, MeanX: 20_000 * rng.Float64(), MeanXLow: 1e-13 * rng.Float64(), MeanY: rng.Float64(), MeanYLow: 1e-17 * rng.Float64(),
				SXX: 1e12 * rng.Float64(), SXY: 1e6 * rng.Float64(), RSS: 1e6 * rng.Float64(),
			}}
		}
		for k := range int32(mostLimits / chars) {
			c.Limits = append(c.Limits, &limits{Revision: 1 + k, Lower: rng.Float64(), Upper: 1 + rng.Float64(), Nominal: rng.Float64(), Left: spread(), Found: spread()})
		}
		s := &stratum{Step: 0.01, Hands: map[int32]*hand{}}
		for k := range int32(mostHands / chars) {
			h := &hand{Steps: moments(), NominalOf: 2 * count, AtNominal: rng.Int64N(count), LimitOf: 2 * count, AtLimit: rng.Int64N(count)}
			h.Steps.N = 0
			for d := range h.Digits {
				h.Digits[d] = count/4 + rng.Int64N(count/4)
				h.Steps.N += h.Digits[d]
			}
			s.Hands[1+(k+997*int32(i))%mostTechnicians] = h
		}
		c.Strata = append(c.Strata, s)
	}
	for i := range mostKinds {
		a.Kinds = append(a.Kinds, kind{Code: 101, ID: fmt.Sprintf("characteristic_of_a_kind_%d", i), Name: "A characteristic and what it is called", Severity: 1, Count: count})
	}
	for p := range int32(mostTechnicians) {
		var r ring
		for range ringSize {
			signature := make([]uint32, mostSignature)
			for i := range signature {
				signature[i] = rng.Uint32()
			}
			r.push(kept{Record: record(), Unit: rng.Uint32(), Signature: signature})
		}
		a.Rings[p+1], a.Shown[p+1] = r, new(examples)
		for sign := 1; sign < recordSigns; sign++ {
			for range mostExamples {
				a.example(p+1, pb.AuditSign(sign), record())
			}
		}
	}
	for _, table := range []struct {
		into *sightings
		most int
	}{{&a.VINs, mostVINBuckets}, {&a.Repeats, mostRepeatBuckets}, {&a.Places, mostPlaceBuckets}} {
		for range 2 * bucketSize * table.most {
			table.into.see(sighting{Key: rng.Uint64(), Record: record(), Owner: 1 + rng.Int32N(mostTechnicians), Unit: rng.Uint32()}, table.most)
		}
	}
	for sign := range a.Total.Chances {
		for _, t := range a.ByHand {
			a.Total.Chances[sign] += t.Chances[sign]
			a.Total.Shown[sign] += t.Shown[sign]
		}
	}
	for range mostNotes {
		a.Notes = append(a.Notes, "Its parts were judged by what was known at different times: 2026-09-01T00:00:00Z and 2026-10-01T00:00:00Z.")
	}
	return a
}

// The largest audit can be saved, restored and gone on with: its checkpoint is below
// the bound.
func TestFull(t *testing.T) {
	a := fullAuditor(t)
	saved, err := a.Save("cursor")
	if err != nil {
		t.Fatal(err)
	}
	if n := items(saved[sha256.Size:]); len(saved) > MaxCheckpoint || n > mostItems {
		t.Errorf("got a checkpoint of %d bytes and %d items", len(saved), n)
	}
	b, _, err := Restore(saved, gauge.Version)
	if err != nil {
		t.Fatal(err)
	}
	if b.cells.hands != mostHands || b.cells.limits != mostLimits || b.cells.months != mostCells || len(b.Duties) != mostDuties {
		t.Errorf("got %+v and %d duties, which is not full", b.cells, len(b.Duties))
	}
	add(t, b, testEngine(t, 1), plainRecord(1))
	if s := b.Summary(); len(s.GetNotes()) == 0 {
		t.Error("nothing is said of what found no room")
	}
}

// BenchmarkFull is what an audit at all its bounds takes.
func BenchmarkFull(b *testing.B) {
	a := fullAuditor(b)
	b.Run("save", func(b *testing.B) {
		for b.Loop() {
			must(a.Save(""))
		}
	})
	b.Run("summary", func(b *testing.B) {
		for b.Loop() {
			a.Summary()
		}
	})
	b.Run("tests", func(b *testing.B) {
		for b.Loop() {
			a.test()
		}
	})
}
