package audit

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
)

// joined audits each part by itself and joins them.
func joined(t *testing.T, parts ...[]*pb.SetupRecord) *Auditor {
	t.Helper()
	e := testEngine(t, 1)
	whole := newAuditor()
	for _, records := range parts {
		a := newAuditor()
		for _, r := range records {
			add(t, a, e, r)
		}
		if err := whole.Join(a); err != nil {
			t.Fatal(err)
		}
	}
	return whole
}

// signsOf is how many records show a sign in a yield, and in how many it could show.
func signsOf(y *pb.AuditYield, sign pb.AuditSign) (shown, chances int64) {
	for _, s := range y.GetSigns() {
		if s.GetSign() == sign {
			return s.GetRecordCount(), s.GetOpportunityCount()
		}
	}
	return 0, 0
}

// A record that shows a sign across audits shows it once, however many of its
// readings, hours and instruments were seen before, and could show it.
func TestJoinCountsARecordOnce(t *testing.T) {
	long := func(n int, shop string, instrument string) *pb.SetupRecord {
		r := record(rand.New(rand.NewPCG(1, uint64(n))), n, shop, "a")
		r.Instruments[0].SerialNumber = instrument
		other := proto.CloneOf(r.Instruments[0])
		other.Id, other.SerialNumber = "spare", instrument+"-2"
		r.Instruments = append(r.Instruments, other)
		return r
	}
	var here, there []*pb.SetupRecord
	for n := range 4 {
		here = append(here, long(n, "north", "CAL-1"))
		there = append(there, copyOf(here[n], n))
		there[n].Shop, there[n].Instruments = "south", here[n].GetInstruments()
		there[n].Unit.Vin = fmt.Sprintf("0VBRL0000T1%06d", n+100)
	}
	s := joined(t, here, there).Summary()
	for _, sign := range []pb.AuditSign{pb.AuditSign_AUDIT_SIGN_INSTRUMENT_ELSEWHERE, pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS} {
		for _, y := range append([]*pb.AuditYield{s.GetTotal()}, append(s.GetShops(), s.GetTechnicians()...)...) {
			want := int64(4)
			if y.GetName() == "north" || y.GetParent() == "north" {
				want = 0
			}
			if shown, chances := signsOf(y, sign); shown != want || chances < shown {
				t.Errorf("%v in %q: got %d of %d, want %d", sign, y.GetName(), shown, chances, want)
			}
		}
	}
}

// Corrections in another part are none, as in one audit.
func TestJoinCorrections(t *testing.T) {
	correction := plainRecord(1)
	correction.Supersedes = "setups/x"
	for _, parts := range [][2]*pb.SetupRecord{{plainRecord(1), correction}, {correction, plainRecord(1)}} {
		s := joined(t, parts[:1], parts[1:]).Summary()
		if shown, _ := signsOf(s.GetTotal(), pb.AuditSign_AUDIT_SIGN_VIN_SEEN_BEFORE); shown != 0 {
			t.Errorf("got %d", shown)
		}
	}
}

// Half of a signature is told of across audits where it is told of in one.
func TestJoinHalves(t *testing.T) {
	var a, b Auditor
	a.ledger, b.ledger = newAuditor().ledger, newAuditor().ledger
	see := func(to *Auditor, weak bool, key uint64, unit uint32) {
		to.Records++
		to.Repeats.see(sighting{Key: key, Record: to.Records - 1, Unit: unit, Weak: weak}, mostRepeatBuckets)
	}
	see(&a, true, 1, 1)
	see(&a, false, 2, 1)
	see(&b, true, 1, 2)
	see(&b, false, 2, 3)
	a.options, b.options = &pb.AuditOptions{}, &pb.AuditOptions{}
	if err := a.Join(&b); err != nil {
		t.Fatal(err)
	}
	if got := a.Total.Shown[pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS]; got != 1 {
		t.Errorf("got %d", got)
	}
}

func TestJoinRefuses(t *testing.T) {
	a, b := newAuditor(), newAuditor()
	a.Records, b.Records = mostRecords, 1
	for name, other := range map[string]*Auditor{
		"itself": a, "too many records": b, "another engine": New(&pb.AuditOptions{}, gauge.Version+"x"),
	} {
		before := string(must(a.Save("")))
		var differ *DifferError
		if err := a.Join(other); !errors.As(err, &differ) {
			t.Errorf("%s: got %v, want a *DifferError", name, err)
		}
		if string(must(a.Save(""))) != before {
			t.Errorf("%s: something has changed", name)
		}
	}
}

// What is pooled is told of in records, joined or not, and reasons without end find
// a place.
func TestJoinPools(t *testing.T) {
	part := func(from, to int) *Auditor {
		a := newAuditor()
		for n := from; n < to; n++ {
			for range 3 {
				a.Add(madeEntry(fmt.Sprintf("shop-%d", n), "t", n))
			}
			a.Add(Failed(nil, fmt.Sprintf("REASON_%d", n), "x"))
		}
		return a
	}
	whole, all := part(0, 600), newAuditor()
	for from := 0; from < 600; from += 200 {
		if err := all.Join(part(from, from+200)); err != nil {
			t.Fatal(err)
		}
	}
	want := fmt.Sprintf("%d records are of shops beyond", 3*(600-mostShops))
	for _, a := range []*Auditor{whole, all} {
		if notes := strings.Join(a.Summary().GetNotes(), "\n"); !strings.Contains(notes, want) {
			t.Errorf("got notes %q", notes)
		}
		failed := int64(0)
		for _, e := range a.Summary().GetErrors() {
			failed += e.GetRecordCount()
		}
		if len(a.Reasons) > mostReasons || failed != 600 {
			t.Errorf("got %d reasons of %d records", len(a.Reasons), failed)
		}
		if _, _, err := Restore(must(a.Save("")), gauge.Version); err != nil {
			t.Errorf("got %v", err)
		}
	}
}
