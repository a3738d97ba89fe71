package population

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"google.golang.org/protobuf/encoding/protojson"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// A line is what the encoder of protobuf writes, without its blanks.
func TestLinesAreThoseOfProtobuf(t *testing.T) {
	p, err := New(Mixed(31, 1500))
	if err != nil {
		t.Fatal(err)
	}
	odd := &pb.SetupRecord{Unit: &pb.Unit{Vin: "a\"\\\n\u00e9\u2028", Model: "<&>", ModelYear: 2026}, Note: "\x7f", Readings: []*pb.Reading{{
		Result: &pb.Reading_Value{Value: 1e-7}}, {Result: &pb.Reading_Value{Value: -2.5e22}}, {Result: &pb.Reading_Value{}}}}
	check := func(rec *pb.SetupRecord) {
		want, err := protojson.Marshal(rec)
		if err != nil {
			t.Fatal(err)
		}
		var compact bytes.Buffer
		if err := json.Compact(&compact, want); err != nil {
			t.Fatal(err)
		}
		if got := appendRecord(nil, rec); !bytes.Equal(got, compact.Bytes()) {
			t.Fatalf("got\n%s\nwant\n%s", got, compact.Bytes())
		}
	}
	for rec := range p.Records() {
		check(rec)
	}
	// What stands in no sheet need not be the same bytes, but must be the same text.
	read := &pb.SetupRecord{}
	if err := protojson.Unmarshal(appendRecord(nil, odd), read); err != nil || read.Unit.Vin != odd.Unit.Vin ||
		read.Readings[0].GetValue() != 1e-7 || read.Readings[1].GetValue() != -2.5e22 || read.Note != odd.Note {
		t.Errorf("got %v, %v", read, err)
	}
}

// The same configuration gives the same bytes, one line a record, and the truth is
// not in them.
func TestWrite(t *testing.T) {
	var first, second, truth, truth2 bytes.Buffer
	for _, to := range []struct{ records, truth *bytes.Buffer }{{&first, &truth}, {&second, &truth2}} {
		p, err := New(Mixed(32, 300))
		if err != nil {
			t.Fatal(err)
		}
		if err := p.Write(to.records, to.truth); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(first.Bytes(), second.Bytes()) || !bytes.Equal(truth.Bytes(), truth2.Bytes()) {
		t.Error("other bytes the second time")
	}
	if n := bytes.Count(first.Bytes(), []byte("\n")); n != 300 {
		t.Errorf("%d lines", n)
	}
	for _, h := range []Habit{HabitHonest, HabitCareless, HabitCopied, HabitInvented, HabitDrifting} {
		if strings.Contains(first.String(), "\""+string(h)+"\"") || !strings.Contains(truth.String(), string(h)) {
			t.Errorf("%s is in the records, or not in the truth", h)
		}
	}
	var was Truth
	if err := json.Unmarshal(truth.Bytes()[:bytes.IndexByte(truth.Bytes(), '\n')], &was); err != nil || was.Shop == "" {
		t.Errorf("%+v, %v", was, err)
	}
}

func BenchmarkWrite(b *testing.B) {
	p, err := New(Mixed(7, max(b.N, 1000)))
	if err != nil {
		b.Fatal(err)
	}
	var n int
	b.ReportAllocs()
	var line []byte
	for rec := range p.Records() {
		if line = appendRecord(line[:0], rec); n >= b.N {
			break
		}
		n++
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "records/s")
}
