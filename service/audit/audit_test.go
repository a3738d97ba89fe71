package audit

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
)

// What is counted is what counting the results by hand gives.
func TestSummaryCounts(t *testing.T) {
	e := testEngine(t, 1)
	a := newAuditor()
	var results []*pb.AuditResult
	values := map[string][]float64{}
	for n := range 300 {
		r := record(rand.New(rand.NewPCG(1, uint64(n))), n, shopOfUnit(n), personOfUnit(n))
		if n%10 == 0 {
			r.Readings[2].Result = &pb.Reading_Value{Value: 8.5}
		}
		if n%15 == 0 {
			r.Readings = r.Readings[:gaps-1]
		}
		for _, reading := range r.GetReadings() {
			values[reading.GetCharacteristic()] = append(values[reading.GetCharacteristic()], reading.GetValue())
		}
		results = append(results, add(t, a, e, r))
	}
	a.Add(Failed(nil, "UNREADABLE", "x"))
	s := a.Summary()
	verdicts, shops, codes := map[pb.Verdict]int64{}, map[string]int64{}, map[pb.FindingCode]int64{}
	for _, r := range results {
		verdicts[r.GetVerdict()]++
		shops[r.GetShop()]++
		for _, f := range r.GetFindings() {
			codes[f.GetCode()]++
		}
	}
	if s.GetRecordCount() != 301 || s.GetErrorCount() != 1 || s.GetErrors()[0].GetReason() != "UNREADABLE" {
		t.Errorf("got %d records, %v", s.GetRecordCount(), s.GetErrors())
	}
	if y := s.GetTotal(); y.GetRejectedCount() != verdicts[pb.Verdict_VERDICT_REJECT] || y.GetRejectedCount() == 0 ||
		y.GetAcceptedCount() != verdicts[pb.Verdict_VERDICT_ACCEPT] || y.GetIncompleteCount() != verdicts[pb.Verdict_VERDICT_INCOMPLETE] ||
		y.GetYield().GetValue() != float64(y.GetAcceptedCount())/300 {
		t.Errorf("got %v, want %v", y, verdicts)
	}
	for _, y := range s.GetShops() {
		if y.GetRecordCount() != shops[y.GetName()] {
			t.Errorf("%s: got %d records, want %d", y.GetName(), y.GetRecordCount(), shops[y.GetName()])
		}
	}
	if len(s.GetShops()) != 5 || len(s.GetTechnicians()) != 15 || len(s.GetMonths()) != 1 || len(s.GetRevisions()) != 1 {
		t.Errorf("got %d shops, %d technicians, %d months", len(s.GetShops()), len(s.GetTechnicians()), len(s.GetMonths()))
	}
	share := 0.0
	for _, c := range s.GetPareto() {
		if c.GetFindingCount() != codes[c.GetCode()] {
			t.Errorf("%v: got %d, want %d", c.GetCode(), c.GetFindingCount(), codes[c.GetCode()])
		}
		share += c.GetShare()
	}
	if math.Abs(share-1) > 1e-12 || len(s.GetPareto()) != len(codes) {
		t.Errorf("got %d codes with shares that sum to %v", len(s.GetPareto()), share)
	}
	for _, c := range s.GetCharacteristics() {
		left := c.GetDistributions()[0].GetAsLeft()
		all := values[c.GetCharacteristic()]
		mean, squares := 0.0, 0.0
		for _, v := range all {
			mean += v / float64(len(all))
		}
		for _, v := range all {
			squares += (v - mean) * (v - mean)
		}
		deviation := math.Sqrt(squares / float64(len(all)-1))
		if left.GetCount() != int64(len(all)) || math.Abs(left.GetMean()-mean) > 1e-12 || math.Abs(left.GetStandardDeviation()-deviation) > 1e-12 ||
			left.GetMinimum() != slices.Min(all) || left.GetMaximum() != slices.Max(all) {
			t.Errorf("%s: got %v, want mean %v and deviation %v of %d", c.GetCharacteristic(), left, mean, deviation, len(all))
		}
		in := left.GetBelowCount() + left.GetAboveCount()
		for _, n := range left.GetHistogram() {
			in += n
		}
		if in != left.GetCount() {
			t.Errorf("%s: the histogram holds %d of %d", c.GetCharacteristic(), in, left.GetCount())
		}
		if want := (11 - 9) / (6 * deviation); math.Abs(c.GetDistributions()[0].GetCapability().GetCp().GetValue()-want) > 1e-9 {
			t.Errorf("%s: got Cp %v, want %v", c.GetCharacteristic(), c.GetDistributions()[0].GetCapability(), want)
		}
	}
}

// A restored audit is the audit that was saved: it goes on to the same bytes.
func TestRestore(t *testing.T) {
	whole := newAuditor()
	honest(t, whole, testEngines(t), 1, 0, 400)
	want := encoded(t, whole.Summary())
	wantSaved, err := whole.Save("here")
	if err != nil {
		t.Fatal(err)
	}
	for _, cut := range []int{0, 1, 57, 399, 400} {
		a := newAuditor()
		honest(t, a, testEngines(t), 1, 0, cut)
		saved, err := a.Save("there")
		if err != nil {
			t.Fatal(err)
		}
		b, cursor, err := Restore(saved, gauge.Version)
		if err != nil {
			t.Fatal(err)
		}
		if cursor != "there" || b.Count() != int64(cut) {
			t.Errorf("got cursor %q and %d records", cursor, b.Count())
		}
		honest(t, b, testEngines(t), 1, cut, 400)
		if encoded(t, b.Summary()) != want {
			t.Errorf("restored after %d records: another summary", cut)
		}
		if again, err := b.Save("here"); err != nil || string(again) != string(wantSaved) {
			t.Errorf("restored after %d records: another checkpoint (%v)", cut, err)
		}
	}
}

func TestRestoreRefuses(t *testing.T) {
	a := newAuditor()
	honest(t, a, testEngines(t), 1, 0, 50)
	saved, err := a.Save("")
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(saved); i += 97 {
		bad := slices.Clone(saved)
		bad[i] ^= 0x40
		if _, _, err := Restore(bad, gauge.Version); !errors.Is(err, ErrDamaged) {
			t.Fatalf("byte %d changed: got %v", i, err)
		}
	}
	for _, n := range []int{0, 5, 32, 33, len(saved) - 1} {
		if _, _, err := Restore(saved[:n], gauge.Version); !errors.Is(err, ErrDamaged) {
			t.Errorf("cut to %d: got %v", n, err)
		}
	}
	var version *VersionError
	if _, _, err := Restore(saved, gauge.Version+"x"); !errors.As(err, &version) || version.What != "engine" {
		t.Errorf("another engine: got %v", err)
	}
}

// Audits of parts that are joined are one audit: counts to the unit, moments but
// for rounding.
func TestJoin(t *testing.T) {
	whole := newAuditor()
	honest(t, whole, testEngines(t), 1, 0, 400)
	want := whole.Summary()
	joined := newAuditor()
	for _, cut := range [][2]int{{0, 120}, {120, 121}, {121, 300}, {300, 400}} {
		part := newAuditor()
		honest(t, part, testEngines(t), 1, cut[0], cut[1])
		if err := joined.Join(part); err != nil {
			t.Fatal(err)
		}
	}
	got := joined.Summary()
	for _, pair := range [][2][]*pb.AuditYield{
		{got.GetShops(), want.GetShops()}, {got.GetTechnicians(), want.GetTechnicians()},
		{got.GetRevisions(), want.GetRevisions()}, {got.GetMonths(), want.GetMonths()}, {got.GetPhases(), want.GetPhases()},
	} {
		for i, y := range pair[1] {
			g := proto.CloneOf(pair[0][i])
			// Of readings that repeat in part, whether there was an earlier record to
			// compare with depends on the cut.
			w := proto.CloneOf(y)
			g.Signs, w.Signs = nil, nil
			if !proto.Equal(g, w) {
				t.Errorf("got %v, want %v", g, w)
			}
		}
	}
	for i, c := range want.GetCharacteristics() {
		g, w := got.GetCharacteristics()[i].GetDistributions()[0], c.GetDistributions()[0]
		if g.GetAsLeft().GetCount() != w.GetAsLeft().GetCount() || !slices.Equal(g.GetAsLeft().GetHistogram(), w.GetAsLeft().GetHistogram()) ||
			math.Abs(g.GetAsLeft().GetStandardDeviation()/w.GetAsLeft().GetStandardDeviation()-1) > 1e-12 ||
			math.Abs(g.GetCapability().GetCpk().GetValue()/w.GetCapability().GetCpk().GetValue()-1) > 1e-12 {
			t.Errorf("%s: got %v, want %v", c.GetCharacteristic(), g, w)
		}
	}
	if len(got.GetNotes()) != 0 || !proto.Equal(got.GetFirstFinishTime(), want.GetFirstFinishTime()) {
		t.Errorf("got notes %v and first %v", got.GetNotes(), got.GetFirstFinishTime())
	}
	other := New(&pb.AuditOptions{SpecRevision: "specs/x/revisions/1"}, gauge.Version)
	var differ *DifferError
	if err := joined.Join(other); !errors.As(err, &differ) {
		t.Errorf("got %v, want a *DifferError", err)
	}
}

// What is in two parts is found when they are joined.
func TestJoinFindsAcross(t *testing.T) {
	e := testEngine(t, 1)
	one := record(rand.New(rand.NewPCG(1, 1)), 1, "north", "a")
	copied := proto.CloneOf(one)
	copied.Unit.Vin, copied.Shop = "0VBRL0000T1000002", "south"
	twice := record(rand.New(rand.NewPCG(1, 3)), 1, "south", "b")
	parts := [][]*pb.SetupRecord{{one}, {copied, twice}}
	joined := newAuditor()
	for _, records := range parts {
		a := newAuditor()
		for _, r := range records {
			add(t, a, e, r)
		}
		if err := joined.Join(a); err != nil {
			t.Fatal(err)
		}
	}
	got := map[pb.AuditSign]int64{}
	for _, sign := range joined.Summary().GetTotal().GetSigns() {
		got[sign.GetSign()] = sign.GetRecordCount()
	}
	for sign, want := range map[pb.AuditSign]int64{
		pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS:    1,
		pb.AuditSign_AUDIT_SIGN_VIN_SEEN_BEFORE:      1,
		pb.AuditSign_AUDIT_SIGN_INSTRUMENT_ELSEWHERE: 1, // CAL-1-north is in the copy too, in the same hours
	} {
		if got[sign] != want {
			t.Errorf("%v: got %d, want %d", sign, got[sign], want)
		}
	}
}

// Each sign that one record can show is shown by a record made to show it, and by
// no other.
func TestRemarks(t *testing.T) {
	e := testEngine(t, 1)
	for name, tc := range map[string]struct {
		second func(first *pb.SetupRecord) *pb.SetupRecord
		want   []pb.AuditSign
	}{
		"nothing": {func(*pb.SetupRecord) *pb.SetupRecord {
			return record(rand.New(rand.NewPCG(6, 2)), 2, "north", "a")
		}, nil},
		"copied": {func(first *pb.SetupRecord) *pb.SetupRecord {
			other := record(rand.New(rand.NewPCG(6, 2)), 2, "north", "a")
			for i, reading := range other.GetReadings() {
				reading.Result = first.GetReadings()[i].Result
			}
			return other
		}, []pb.AuditSign{pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS}},
		"copied but for four": {func(first *pb.SetupRecord) *pb.SetupRecord {
			other := record(rand.New(rand.NewPCG(6, 2)), 2, "north", "a")
			for i, reading := range other.GetReadings()[:gaps-4] {
				reading.Result = first.GetReadings()[i].Result
			}
			return other
		}, []pb.AuditSign{pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS}},
		"of the same unit again": {func(first *pb.SetupRecord) *pb.SetupRecord {
			fresh := record(rand.New(rand.NewPCG(7, 1)), 1, "north", "a")
			return fresh
		}, []pb.AuditSign{pb.AuditSign_AUDIT_SIGN_VIN_SEEN_BEFORE}},
		"a correction": {func(first *pb.SetupRecord) *pb.SetupRecord {
			fresh := record(rand.New(rand.NewPCG(7, 1)), 1, "north", "a")
			fresh.Supersedes = "setups/x"
			return fresh
		}, nil},
		"too fast": {func(first *pb.SetupRecord) *pb.SetupRecord {
			fresh := record(rand.New(rand.NewPCG(8, 2)), 2, "north", "a")
			start := fresh.GetFinishTime().AsTime().Add(-59 * time.Minute)
			fresh.StartTime = timestamppb.New(start)
			for i, reading := range fresh.GetReadings() {
				reading.Time = timestamppb.New(start.Add(time.Duration(i) * time.Minute))
			}
			return fresh
		}, []pb.AuditSign{pb.AuditSign_AUDIT_SIGN_FASTER_THAN_LEAST_TIME}},
		"out of order": {func(first *pb.SetupRecord) *pb.SetupRecord {
			fresh := record(rand.New(rand.NewPCG(8, 2)), 2, "north", "a")
			fresh.Readings[0].Time, fresh.Readings[2].Time = fresh.Readings[2].Time, fresh.Readings[0].Time
			return fresh
		}, []pb.AuditSign{pb.AuditSign_AUDIT_SIGN_TIMES_OUT_OF_ORDER}},
		"an instrument elsewhere": {func(first *pb.SetupRecord) *pb.SetupRecord {
			fresh := record(rand.New(rand.NewPCG(8, 2)), 2, "south", "b")
			fresh.Instruments[0].SerialNumber = first.GetInstruments()[0].GetSerialNumber()
			shift := fresh.GetStartTime().AsTime().Sub(first.GetStartTime().AsTime())
			for _, reading := range fresh.GetReadings() {
				reading.Time = timestamppb.New(reading.GetTime().AsTime().Add(-shift))
			}
			fresh.StartTime, fresh.FinishTime = first.GetStartTime(), first.GetFinishTime()
			return fresh
		}, []pb.AuditSign{pb.AuditSign_AUDIT_SIGN_INSTRUMENT_ELSEWHERE}},
		"the same instrument another day": {func(first *pb.SetupRecord) *pb.SetupRecord {
			fresh := record(rand.New(rand.NewPCG(8, 99)), 99, "south", "b")
			fresh.Instruments[0].SerialNumber = first.GetInstruments()[0].GetSerialNumber()
			return fresh
		}, nil},
		"finer": {func(first *pb.SetupRecord) *pb.SetupRecord {
			fresh := record(rand.New(rand.NewPCG(8, 2)), 2, "north", "a")
			fresh.Readings[3].Result = &pb.Reading_Value{Value: 10.125}
			return fresh
		}, []pb.AuditSign{pb.AuditSign_AUDIT_SIGN_FINER_THAN_INSTRUMENT}},
	} {
		t.Run(name, func(t *testing.T) {
			a := newAuditor()
			first := record(rand.New(rand.NewPCG(5, 1)), 1, "north", "a")
			if result := add(t, a, e, first); len(result.GetRemarks()) > 0 {
				t.Fatalf("the first record: got %v", result.GetRemarks())
			}
			var got []pb.AuditSign
			for _, remark := range add(t, a, e, tc.second(first)).GetRemarks() {
				got = append(got, remark.GetSign())
				if !strings.HasSuffix(remark.GetBecause(), ".") || remark.EarlierIndex != nil && remark.GetEarlierIndex() != 0 {
					t.Errorf("got %v", remark)
				}
			}
			if !slices.Equal(got, tc.want) {
				t.Errorf("got %v, want %v", got, tc.want)
			}
		})
	}
}

// However many shops, people, revisions and units there are, an audit stays below
// a size, counts every record, and says what it pooled.
func TestBounds(t *testing.T) {
	a := newAuditor()
	e := testEngine(t, 1)
	const records = 20_000
	size := func() int {
		saved, err := a.Save("")
		if err != nil {
			t.Fatal(err)
		}
		return len(saved)
	}
	var half int
	for n := range records {
		rng := rand.New(rand.NewPCG(9, uint64(n)))
		add(t, a, e, record(rng, n, fmt.Sprintf("shop-%d", n), fmt.Sprintf("t%d", n)))
		if n == records/2 {
			half = size()
		}
	}
	if now := size(); now > 64<<20 {
		t.Errorf("got a checkpoint of %d bytes, %d at half", now, half)
	}
	s := a.Summary()
	sum := int64(0)
	for _, y := range s.GetShops() {
		sum += y.GetRecordCount()
	}
	if sum != records || len(s.GetShops()) > mostShops+1 || len(s.GetTechnicians()) > mostTechnicians+1 {
		t.Errorf("got %d records in %d shops of %d people", sum, len(s.GetShops()), len(s.GetTechnicians()))
	}
	if len(s.GetNotes()) < 2 || !strings.Contains(strings.Join(s.GetNotes(), "\n"), "counted together") {
		t.Errorf("got notes %v", s.GetNotes())
	}
	if _, _, err := Restore(must(a.Save("")), gauge.Version); err != nil {
		t.Errorf("an audit at its bounds cannot be restored: %v", err)
	}
}

// The table forgets the oldest when it is full, finds everything until then, and
// is as it was after being restored.
func TestSightings(t *testing.T) {
	var s sightings
	const buckets = 128
	rng := rand.New(rand.NewPCG(3, 3))
	last := map[uint64]int64{}
	for i := range int64(50_000) {
		key := rng.Uint64() >> 1
		if earlier, seen := s.see(sighting{Key: key, Record: i}, buckets); seen {
			t.Fatalf("saw %v before", earlier)
		}
		last[key] = i
		if i > 200 {
			continue
		}
		for k, at := range last {
			if earlier, seen := s.see(sighting{Key: k, Record: i}, buckets); !seen || earlier.Record != at {
				t.Fatalf("key of record %d: got %v, %v", at, earlier, seen)
			}
		}
	}
	if s.Held != buckets*bucketSize || s.Forgotten != 50_000-s.Held || !s.sound(buckets, 50_000, 1) {
		t.Errorf("got %d held and %d forgotten", s.Held, s.Forgotten)
	}
}

// What an observation says is what its numbers say, and accuses nobody.
func TestWords(t *testing.T) {
	for sign := range words {
		o := &pb.AuditObservation{Sign: sign, Shop: "north", Technician: "t1", Characteristic: "gap", OpportunityCount: 40, HitCount: 38, Share: 0.95, ShareElsewhere: 0.012}
		words[sign].say(o)
		if !strings.HasPrefix(o.GetBecause(), "Worth a look, because ") || !strings.HasSuffix(o.GetBecause(), ".") || o.GetInnocentCauses() == "" {
			t.Errorf("%v: got %q and %q", sign, o.GetBecause(), o.GetInnocentCauses())
		}
		for _, accusing := range []string{"fake", "fraud", "cheat", "falsif", "invented", "made up", "suspic", "guilty"} {
			for _, word := range strings.Fields(strings.ToLower(o.GetBecause() + " " + o.GetInnocentCauses())) {
				if strings.HasPrefix(word, accusing) {
					t.Errorf("%v says %q", sign, word)
				}
			}
		}
	}
	for sign := range pb.AuditSign_name {
		if _, said := words[pb.AuditSign(sign)]; !said && sign != 0 {
			t.Errorf("nothing is said of %v", pb.AuditSign(sign))
		}
	}
	if len(trials) != len(words) {
		t.Errorf("got %d tests of %d signs", len(trials), len(words))
	}
}
