package audit

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"math"
	"runtime"
	"slices"
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
)

// A checkpoint whose digest is right and whose content no audit leaves is refused.
func TestRestoreRefusesWhatNoAuditLeaves(t *testing.T) {
	base := newAuditor()
	honest(t, base, testEngines(t), 1, 0, 120)
	saved := must(base.Save(""))
	for name, spoil := range map[string]func(a *Auditor){
		"negative records":              func(a *Auditor) { a.Records = -1 },
		"too many records":              func(a *Auditor) { a.Records = math.MaxInt64 },
		"more errors than records":      func(a *Auditor) { a.Errors = a.Records + 1 },
		"a negative reason":             func(a *Auditor) { a.Reasons["X"] = -1 },
		"no such time":                  func(a *Auditor) { a.Last.Seconds = math.MaxInt64 },
		"no such nanosecond":            func(a *Auditor) { a.First.Nanos = -1 },
		"fewer models than revisions":   func(a *Auditor) { a.Models = nil },
		"fewer tallies than people":     func(a *Auditor) { a.ByHand = a.ByHand[:2] },
		"a shop that is not there":      func(a *Auditor) { a.Works[1] = 99 },
		"a shop below all":              func(a *Auditor) { a.Works[1] = -1 },
		"a negative verdict":            func(a *Auditor) { a.Total.Verdicts[1] = -5 },
		"more shown than could":         func(a *Auditor) { a.ByHand[1].Shown[1] = a.ByHand[1].Chances[1] + 1 },
		"a huge count":                  func(a *Auditor) { a.ByShop[1].Chances[1] = math.MaxInt64 },
		"no tally":                      func(a *Auditor) { a.ByPhase[3] = nil },
		"a month before all":            func(a *Auditor) { a.ByMonth[-7] = &tally{} },
		"a duty of nobody":              func(a *Auditor) { a.Duties[dutyOf(1, 1, 999)] = &tally{} },
		"a duty under no revision":      func(a *Auditor) { a.Duties[dutyOf(999, 1, 1)] = &tally{} },
		"a negative duty":               func(a *Auditor) { a.Duties[-1] = &tally{} },
		"a negative finding":            func(a *Auditor) { a.Kinds[0].Count = -1 },
		"a finding twice":               func(a *Auditor) { a.Kinds = append(a.Kinds, a.Kinds[0]) },
		"no characteristic":             func(a *Auditor) { a.Chars[0] = nil },
		"a characteristic twice":        func(a *Auditor) { a.Chars = append(a.Chars, a.Chars[0]) },
		"a negative outcome":            func(a *Auditor) { a.Chars[0].Outcomes[1] = -1 },
		"outcomes that overflow":        func(a *Auditor) { a.Chars[0].Outcomes = outcomes{math.MaxInt64, math.MaxInt64, 2} },
		"a month that is none":          func(a *Auditor) { a.Chars[0].Months[math.MinInt32] = &period{} },
		"no period":                     func(a *Auditor) { a.Chars[0].Months[24000] = nil },
		"a mean that is no number":      func(a *Auditor) { a.Chars[0].Revisions[1].Moments.Mean = math.NaN() },
		"an infinite spread":            func(a *Auditor) { a.Chars[0].Revisions[1].Moments.M2 = math.Inf(1) },
		"a negative spread":             func(a *Auditor) { a.Chars[0].Revisions[1].Moments.M2 = -1 },
		"a negative count":              func(a *Auditor) { a.Chars[0].Revisions[1].Moments.N = -1 },
		"a line that is no number":      func(a *Auditor) { a.Chars[0].Shops[1].Line.SXY = math.NaN() },
		"a huge line":                   func(a *Auditor) { a.Chars[0].Shops[1].Line.N = math.MaxInt64 },
		"a shop without one":            func(a *Auditor) { a.Chars[0].Shops[99] = &shopCell{} },
		"limits that are no number":     func(a *Auditor) { a.Chars[0].Limits[0].Lower = math.NaN() },
		"limits of no revision":         func(a *Auditor) { a.Chars[0].Limits[0].Revision = 99 },
		"a histogram of another form":   func(a *Auditor) { a.Chars[0].Limits[0].Left.Cells = make([]int64, 3) },
		"a negative cell":               func(a *Auditor) { a.Chars[0].Limits[0].Left.Cells[3] = -1 },
		"an infinite value":             func(a *Auditor) { a.Chars[0].Limits[0].Left.Max = math.Inf(1) },
		"a step of nought":              func(a *Auditor) { a.Chars[0].Strata[0].Step = 0 },
		"a step that is no number":      func(a *Auditor) { a.Chars[0].Strata[0].Step = math.NaN() },
		"too many steps":                func(a *Auditor) { a.Chars[0].Strata = slices.Repeat(a.Chars[0].Strata, mostStrata+1) },
		"a hand of nobody":              func(a *Auditor) { a.Chars[0].Strata[0].Hands[999] = &hand{} },
		"no hand":                       func(a *Auditor) { a.Chars[0].Strata[0].Hands[1] = nil },
		"a negative digit":              func(a *Auditor) { a.Chars[0].Strata[0].Hands[1].Digits[1] = -4 },
		"more digits than readings":     func(a *Auditor) { a.Chars[0].Strata[0].Hands[1].Digits[1] += 4 },
		"more at nominal than readings": func(a *Auditor) { a.Chars[0].Strata[0].Hands[1].AtNominal = 1 << 30 },
		"hands of more than all records": func(a *Auditor) {
			for _, h := range a.Chars[0].Strata[0].Hands {
				h.LimitOf = a.Records
			}
		},
		"an example that is no record": func(a *Auditor) { a.example(1, 1, a.Records) },
		"too many examples":            func(a *Auditor) { a.Shown[1] = &examples{1: {0, 1, 2, 3, 4, 5}} },
		"examples of nobody":           func(a *Auditor) { a.Shown[999] = &examples{} },
		"too long a ring":              func(a *Auditor) { a.Rings[1] = make(ring, ringSize+1) },
		"too long a signature":         func(a *Auditor) { a.Rings[1][0].Signature = make([]uint32, mostSignature+1) },
		"a ring of a later record":     func(a *Auditor) { a.Rings[1][0].Record = a.Records },
		"a ring of nobody":             func(a *Auditor) { a.Rings[-1] = ring{} },
		"another number of sightings":  func(a *Auditor) { a.VINs.Held++ },
		"a table of no power of two":   func(a *Auditor) { a.VINs.Buckets = append(a.VINs.Buckets, bucket{}) },
		"a sighting in another bucket": func(a *Auditor) { a.VINs.Buckets[0], a.VINs.Buckets[1] = a.VINs.Buckets[1], a.VINs.Buckets[0] },
		"a negative crowd":             func(a *Auditor) { a.Crowded = -1 },
		"a huge crowd":                 func(a *Auditor) { a.Crowded = math.MaxInt64 },
		"notes without end":            func(a *Auditor) { a.Notes = make([]string, mostNotes+1) },
		"a huge number of pooled":      func(a *Auditor) { a.Shops.Pooled = math.MaxInt64 },
		"a name twice":                 func(a *Auditor) { a.Shops.Names[2] = a.Shops.Names[1] },
		"a title without end":          func(a *Auditor) { a.options = &pb.AuditOptions{Title: string(make([]byte, 2*mostOptions))} },
	} {
		a, _, err := Restore(saved, gauge.Version)
		if err != nil {
			t.Fatal(err)
		}
		spoil(a)
		if _, _, err := Restore(must(a.Save("")), gauge.Version); !errors.Is(err, ErrDamaged) {
			t.Errorf("%s: got %v, want ErrDamaged", name, err)
		}
	}
}

// However few bytes stand for however much, restoring needs no more memory than a
// few times what the largest audit does.
func TestRestoreBoundsMemory(t *testing.T) {
	head := func(major byte, n int) []byte {
		return binary.BigEndian.AppendUint32([]byte{major<<5 | 26}, uint32(n))
	}
	many := func(major byte, n int, item func(i int) []byte) []byte {
		b := head(major, n)
		for i := range n {
			b = append(b, item(i)...)
		}
		return b
	}
	const array, table, most = 4, 5, mostVINBuckets
	is := func(b ...byte) func(int) []byte { return func(int) []byte { return b } }
	keyed := func(b ...byte) func(int) []byte { return func(i int) []byte { return append(head(0, i), b...) } }
	const chars, rings = 18, 19 // keys of the ledger
	for name, field := range map[string]struct {
		key  byte
		body []byte
	}{
		"characteristics":   {chars, many(array, most, is(0xa0))},
		"more than allowed": {chars, many(array, 1<<20, is(0xa0))},
		"rings":             {rings, many(table, 480, keyed(many(array, most, is(0xf6))...))},
		"many rings":        {rings, many(table, 600, keyed(many(array, most, is(0xf6))...))},
	} {
		payload := bytes.Join([][]byte{
			{0xa4, 1, 0x60 | byte(len(Version))}, []byte(Version), {2, 0x60 | byte(len(gauge.Version))}, []byte(gauge.Version),
			{3, 0x40, 5, 0xa1, 0x18, field.key}, field.body,
		}, nil)
		digest := sha256.Sum256(payload)
		checkpoint := append(digest[:], payload...)
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, _, err := Restore(checkpoint, gauge.Version)
		runtime.ReadMemStats(&after)
		if !errors.Is(err, ErrDamaged) {
			t.Errorf("%s: got %v, want ErrDamaged", name, err)
		}
		if needed := (after.TotalAlloc - before.TotalAlloc) >> 20; needed > 700 {
			t.Errorf("%s: %d MB for a checkpoint of %d", name, needed, len(checkpoint)>>20)
		}
	}
}

// Items are counted as they are written, and what is cut off is without end.
func TestItems(t *testing.T) {
	for payload, want := range map[string]int{
		"": 0, "\x00": 1, "\x82\x01\x02": 3, "\xa1\x01\x63abc": 3, "\x19\x01\x02": 1, "\xf9\x7e\x00": 1, "\x58\x02ab": 1,
		"\x19\x01": math.MaxInt, "\x63ab": math.MaxInt, "\x5b\xff\xff\xff\xff\xff\xff\xff\xff": math.MaxInt, "\x9f": math.MaxInt,
	} {
		if got := items([]byte(payload)); got != want {
			t.Errorf("%x: got %d, want %d", payload, got, want)
		}
	}
}

// Counts that the contract's numbers cannot hold are as large as those can be.
func TestTallyIsFull(t *testing.T) {
	if got := tallyProto(outcomes{1: 1 << 32, 2: 5}); got.GetConforming() != math.MaxInt32 || got.GetNonconforming() != 5 {
		t.Errorf("got %v", got)
	}
}

// A histogram over limits that are as far apart as numbers can be counts nothing,
// and nothing breaks.
func TestHistogramOfHugeLimits(t *testing.T) {
	var v values
	v.add(1, frame{-math.MaxFloat64, math.MaxFloat64, math.NaN()})
	v.add(1, frame{1, math.MaxFloat64, math.NaN()})
	if v.Moments.N != 2 {
		t.Errorf("got %+v", v)
	}
}
