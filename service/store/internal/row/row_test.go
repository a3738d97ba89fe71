package row_test

import (
	"bytes"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/store/internal/row"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

// TestExpectation sees that what is cut from the wire form is the same as what
// is never encoded.
func TestExpectation(t *testing.T) {
	t.Parallel()
	plain, _, err := row.Encode(storetest.Sample(1))
	if err != nil {
		t.Fatal(err)
	}
	setup := storetest.Sample(1)
	setup.Record.Expectation = &pb.Expectation{Verdict: 2, Codes: []pb.FindingCode{101, 102}}
	cut, stored, err := row.Encode(setup)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(plain.Record, cut.Record) || plain.RecordDigest != cut.RecordDigest {
		t.Error("the expectation shows in the stored record")
	}
	if diff := cmp.Diff(storetest.Sample(1).Record, stored.Record, protocmp.Transform()); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
	if setup.Record.Expectation == nil {
		t.Error("the caller's record was changed")
	}
	if !row.SameRecord(setup.Record, storetest.Sample(1).Record) || row.SameRecord(setup.Record, storetest.Sample(2).Record) {
		t.Error("SameRecord is mistaken")
	}
}

// TestBasic compares the record that was cut before decoding with the one that
// was cut after it.
func TestBasic(t *testing.T) {
	t.Parallel()
	for n := range 8 {
		r, _, err := row.Encode(storetest.Sample(n))
		if err != nil {
			t.Fatal(err)
		}
		before := bytes.Clone(r.Record)
		fast, err := row.DecodeRecord(r.Record, true)
		if err != nil {
			t.Fatal(err)
		}
		slow, err := row.DecodeRecord(r.Record, false)
		if err != nil {
			t.Fatal(err)
		}
		slow.Readings, slow.Instruments = nil, nil
		if !proto.Equal(fast, slow) {
			t.Errorf("%d: got %v, wanted %v", n, fast, slow)
		}
		if !bytes.Equal(before, r.Record) {
			t.Error("the stored bytes were changed")
		}
		for _, basic := range []bool{false, true} {
			if _, err := row.DecodeRecord(r.Record[:len(r.Record)-1], basic); err == nil {
				t.Errorf("basic %t: a record cut short was decoded", basic)
			}
		}
	}
}
