package audit

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// lows counts p-values by sign, and those that are low.
type lows map[pb.AuditSign]*[3]int // all, at most 0.05, at most 0.01

func (l lows) count(a *Auditor) {
	for _, o := range a.Results() {
		at := l[o.GetSign()]
		if at == nil {
			at = new([3]int)
			l[o.GetSign()] = at
		}
		at[0]++
		for i, level := range []float64{0.05, 0.01} {
			if o.GetPValue() <= level {
				at[1+i]++
			}
		}
	}
}

// check holds the p-values to be no smaller than uniform ones, within what so many
// can differ.
func (l lows) check(t *testing.T, signs int) {
	t.Helper()
	for sign, n := range l {
		t.Logf("%-24s %5d: %.4f at most 0.05, %.4f at most 0.01", sign.String()[len("AUDIT_SIGN_"):], n[0], share(n[1], n[0]), share(n[2], n[0]))
		if share(n[1], n[0]) > 0.08 || share(n[2], n[0]) > 0.02 {
			t.Errorf("%v: of %d p-values %d are at most 0.05 and %d at most 0.01", sign, n[0], n[1], n[2])
		}
	}
	if len(l) < signs {
		t.Errorf("got %d signs, wanted %d", len(l), signs)
	}
}

func share(k, n int) float64 { return float64(k) / float64(n) }

// Where fifteen people measure and write alike, none of them stands out more often
// than chance has it.
func TestCalibrationOfHonest(t *testing.T) {
	got, engines := lows{}, testEngines(t)
	for seed := range uint64(30) {
		a := newAuditor()
		honest(t, a, engines, 100+seed, 0, 15*200)
		got.count(a)
	}
	got.check(t, len(trials))
}

// The same holds where everybody shows every sign now and then.
func TestCalibrationWhereAllDoAlike(t *testing.T) {
	got := lows{}
	const seeds, records = 40, 15 * 250
	for seed := range uint64(seeds) {
		a := newAuditor()
		rng := rand.New(rand.NewPCG(7, seed))
		var signatures [][]uint32
		for n := range records {
			e := alikeEntry(rng, n)
			if rng.IntN(25) == 0 && len(signatures) > 0 {
				e.signature = signatures[rng.IntN(len(signatures))]
			}
			signatures = append(signatures, e.signature)
			a.Add(e)
		}
		got.count(a)
	}
	got.check(t, len(trials))
	for sign, n := range got {
		if share(n[1], n[0]) < 0.005 {
			t.Errorf("%v: of %d p-values %d are at most 0.05: the test sees nothing", sign, n[0], n[1])
		}
	}
}

// alikeSheet has the characteristics of the entries that are made alike.
var alikeSheet = func() (sheet []*pb.Characteristic) {
	for i := range 6 {
		sheet = append(sheet, &pb.Characteristic{Id: fmt.Sprintf("gap_%d", i), Limits: &pb.Limits{Unit: "mm"}})
	}
	return sheet
}()

// alikeEntry is one that shows each sign by lot, whoever wrote it; some lots depend
// on the revision, and people seldom work on all alike.
func alikeEntry(rng *rand.Rand, n int) *Entry {
	lot := func(one int) bool { return rng.IntN(one) == 0 }
	unit := n
	if lot(20) {
		unit = rng.IntN(n + 1)
	}
	person := rng.IntN(3)
	e := madeEntry(shopOfUnit(n), fmt.Sprintf("t%d", person), unit)
	e.begin = time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(n/4) * time.Hour)
	e.end = e.begin.Add(50 * time.Minute)
	kind := 1 + (person+n%5)%3 // most work on one kind of machine most of the time
	if lot(4) {
		kind = 1 + rng.IntN(3)
	}
	e.report.SpecRevision = fmt.Sprintf("specs/x/revisions/%d", kind)
	e.record.Phase = pb.Phase(1 + rng.IntN(2))
	e.record.Instruments = []*pb.Instrument{{SerialNumber: fmt.Sprintf("LENT-%d", rng.IntN(30))}}
	e.paced, e.leastTime, e.took = true, time.Hour, 2*time.Hour
	if lot(4 * kind) {
		e.took = time.Minute
	}
	e.timed = true
	if lot(6 * kind) {
		e.report.Findings = []*pb.Finding{{Code: pb.FindingCode_FINDING_CODE_OUT_OF_ORDER}}
	}
	e.checked = true
	if lot(30 / kind) {
		e.finer = "gap_1"
	}
	for range 10 {
		e.signature = append(e.signature, rng.Uint32())
	}
	slices.Sort(e.signature)
	for i, c := range alikeSheet {
		steps := math.Round(20 * rng.NormFloat64())
		switch {
		case lot(8):
			steps = 0
		case lot(20 + 10*i):
			steps = 100
		}
		e.samples = append(e.samples, sample{
			c: c, outcome: pb.OutcomeKind_OUTCOME_KIND_CONFORMING, scaled: true, value: 10 + steps/100,
			lower: 9, upper: 11, nominal: 10, hasNominal: true, step: 0.01, steps: steps, digit: int8(math.Mod(1000+steps, 10)),
			atNominal: steps == 0, digitMatters: steps != 0, atLimit: steps == 100, limitMatters: true, nominalMatters: true,
		})
	}
	return e
}
