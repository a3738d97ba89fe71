package audit

import (
	"slices"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// remarksOf audits records in their order and gives the signs of each.
func remarksOf(t *testing.T, records ...*pb.SetupRecord) (signs [][]pb.AuditSign) {
	t.Helper()
	e := testEngine(t, 1)
	a := newAuditor()
	for _, r := range records {
		var of []pb.AuditSign
		for _, remark := range add(t, a, e, r).GetRemarks() {
			of = append(of, remark.GetSign())
		}
		signs = append(signs, of)
	}
	return signs
}

// copyOf has the readings of another record.
func copyOf(r *pb.SetupRecord, n int) *pb.SetupRecord {
	c := plainRecord(n)
	for i, reading := range c.GetReadings() {
		reading.Result = r.GetReadings()[i].Result
	}
	return c
}

// A correction and what it corrects are no second record of a VIN, whichever comes
// first: stored ones are audited newest first. A third one is.
func TestCorrectionsInAnyOrder(t *testing.T) {
	again := func(n uint64) *pb.SetupRecord {
		r := plainRecord(int(n))
		r.Unit = plainRecord(1).GetUnit()
		return r
	}
	correction := again(2)
	correction.Supersedes = "setups/x"
	for name, tc := range map[string]struct {
		records []*pb.SetupRecord
		told    int
	}{
		"correction last":  {[]*pb.SetupRecord{again(1), correction}, -1},
		"correction first": {[]*pb.SetupRecord{correction, again(1)}, -1},
		"a third last":     {[]*pb.SetupRecord{correction, again(1), again(3)}, 2},
		"a third between":  {[]*pb.SetupRecord{again(1), again(3), correction}, 1},
	} {
		for i, signs := range remarksOf(t, tc.records...) {
			if slices.Contains(signs, pb.AuditSign_AUDIT_SIGN_VIN_SEEN_BEFORE) != (i == tc.told) {
				t.Errorf("%s: record %d has %v", name, i, signs)
			}
		}
	}
}

// A correction of a wrong VIN repeats the readings of what it corrects; a copy of
// another malformed VIN's record is one all the same.
func TestRepeatsAndVINs(t *testing.T) {
	first := plainRecord(1)
	correction := copyOf(first, 2)
	correction.Supersedes = "setups/x"
	if got := remarksOf(t, first, correction); len(got[1]) != 0 {
		t.Errorf("a correction of the VIN: got %v", got)
	}
	malformed, another := proto.CloneOf(first), copyOf(first, 2)
	malformed.Unit.Vin, another.Unit.Vin = "NO VIN 1", "NO VIN 2"
	if got := remarksOf(t, malformed, another); !slices.Equal(got[1], []pb.AuditSign{pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS}) {
		t.Errorf("a copy under a malformed VIN: got %v", got)
	}
}

// What stands in the place of a serial number in many shops is none, and spelling
// does not tell two instruments apart.
func TestSerials(t *testing.T) {
	for written, want := range map[string]string{
		"": "", "n/a": "", "none": "", "12": "", "0000": "", "-": "", "№ 7": "",
		"TW-0815": "TW0815", " tw 0815 ": "TW0815", "123456": "123456",
	} {
		got, ok := serialOf(&pb.Instrument{SerialNumber: written})
		if ok != (want != "") || ok && got != want {
			t.Errorf("%q: got %q, %v", written, got, ok)
		}
	}
}

// A reading that lies in steps too coarse, or where a tool is set to, marks no unit.
func TestMarks(t *testing.T) {
	coarse := plainRecord(1)
	coarse.Instruments[0].Resolution = 0.5
	for _, reading := range coarse.GetReadings() {
		reading.Result = &pb.Reading_Value{Value: 10.5}
	}
	other := proto.CloneOf(coarse)
	other.Unit = plainRecord(2).GetUnit()
	other.StartTime, other.FinishTime = plainRecord(2).GetStartTime(), plainRecord(2).GetFinishTime()
	for _, reading := range other.GetReadings() {
		reading.Time = timestamppb.New(reading.GetTime().AsTime().Add(2 * time.Hour))
	}
	if got := remarksOf(t, coarse, other); len(got[1]) != 0 {
		t.Errorf("got %v", got)
	}
}

// A part that is less than half of a signature says nothing by itself.
func TestParts(t *testing.T) {
	signature := make([]uint32, 0, mostSignature)
	for i := range uint32(24) {
		signature = append(signature, 2*i+1)
	}
	for i := range uint32(8) {
		signature = append(signature, 1000+2*i)
	}
	parts, n := partsOf(signature)
	if n != 2 || parts[0].size != 8 || !parts[0].weak || parts[1].size != 24 || parts[1].weak {
		t.Errorf("got %+v", parts)
	}
	if parts, n = partsOf(signature[:20]); n != 1 || parts[0].size != 20 || parts[0].weak {
		t.Errorf("got %d %+v", n, parts)
	}
}

// A time is said so that it is not longer than it was.
func TestMinutes(t *testing.T) {
	for d, want := range map[time.Duration]string{
		0: "0 min", time.Hour: "60 min", time.Hour - time.Second: "59 min 59 s", time.Hour - time.Millisecond: "59 min 59 s",
	} {
		if got := minutes(d); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

// Finish times centuries apart are first and last.
func TestFirstAndLast(t *testing.T) {
	a := newAuditor()
	for _, year := range []int{2026, 9999, 1200} {
		at := time.Date(year, 5, 1, 0, 0, 0, 5, time.UTC)
		a.Add(&Entry{record: &pb.SetupRecord{}, report: &pb.Report{Verdict: pb.Verdict_VERDICT_ACCEPT}, begin: at, end: at})
	}
	s := a.Summary()
	if first, last := s.GetFirstFinishTime().AsTime(), s.GetLastFinishTime().AsTime(); first.Year() != 1200 || last.Year() != 9999 || last.Nanosecond() != 5 {
		t.Errorf("got %v to %v", first, last)
	}
}
