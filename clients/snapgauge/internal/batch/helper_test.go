package batch

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch/columns"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
)

// demoRecords are the records that come with the sheets, without what nobody
// sends: their expectation.
func demoRecords(t testing.TB) []*pb.SetupRecord {
	t.Helper()
	files, err := filepath.Glob("../../../../specs/records/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no demo records: %v", err)
	}
	var records []*pb.SetupRecord
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		m := new(pb.SetupRecord)
		if _, err := document.Decode(data, m, document.Options{Name: file}); err != nil {
			t.Fatal(err)
		}
		m.Expectation = nil
		records = append(records, m)
	}
	return records
}

// record64 is a record of 64 readings, as a large job has.
func record64(number int) *pb.SetupRecord {
	at := time.Date(2026, 7, 2, 10, 5, 0, 0, time.UTC).Add(time.Duration(number) * time.Hour)
	m := &pb.SetupRecord{
		Unit:  &pb.Unit{Vin: fmt.Sprintf("0VST2E3C7TA%06d", number%1000000), Model: "Scree 200i", ModelYear: 2026, Market: "EU", Hours: proto.Float64(0.4)},
		Phase: pb.Phase_PHASE_HANDOVER, Shop: "ridge-cycles", Technician: "t07",
		StartTime: timestamppb.New(at), FinishTime: timestamppb.New(at.Add(time.Hour)),
		Conditions:  []pb.Condition{pb.Condition_CONDITION_ON_WHEELS, pb.Condition_CONDITION_ENGINE_STOPPED},
		Instruments: []*pb.Instrument{{Id: "rule-1", Kind: pb.InstrumentKind_INSTRUMENT_KIND_RULE, Unit: "mm", Resolution: 1}},
	}
	for i := range 64 {
		r := &pb.Reading{Characteristic: fmt.Sprintf("item_%d", i), Time: timestamppb.New(at.Add(time.Duration(i) * time.Minute / 2))}
		if i%4 == 3 {
			r.Result = &pb.Reading_Pass{Pass: true}
		} else {
			r.Result, r.Unit, r.Instrument = &pb.Reading_Value{Value: 3.25 + float64((i+number)%50)}, "mm", "rule-1"
		}
		m.Readings = append(m.Readings, r)
	}
	return m
}

// jsonLinesOf writes records as JSON Lines.
func jsonLinesOf(t testing.TB, records ...*pb.SetupRecord) []byte {
	t.Helper()
	var b []byte
	for _, m := range records {
		line, err := protojson.Marshal(m)
		if err != nil {
			t.Fatal(err)
		}
		b = append(append(b, line...), '\n')
	}
	return b
}

func gzipped(t testing.TB, data []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	_, err := z.Write(data)
	if err = errors.Join(err, z.Close()); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func zstandard(t testing.TB, data []byte) []byte {
	t.Helper()
	z, err := zstd.NewWriter(nil)
	if err != nil {
		t.Fatal(err)
	}
	return z.EncodeAll(data, nil)
}

// file writes a file and returns its name.
func file(t testing.TB, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// all reads a source to its end. What ends it but io.EOF is the error.
func all(t testing.TB, s Source) (items []Item, err error) {
	t.Helper()
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	last := int64(0)
	for {
		item, err := s.Next()
		if err != nil {
			if _, again := s.Next(); !errors.Is(again, err) {
				t.Errorf("got %v, then %v", err, again)
			}
			if errors.Is(err, io.EOF) && !strings.Contains(err.Error(), ":") {
				return items, nil
			}
			return items, err
		}
		if (item.Record == nil) == (item.Unreadable == "") {
			t.Errorf("%s: got %v and %q", item.Place, item.Record, item.Unreadable)
		}
		done, total := s.Progress()
		if done < last || total > 0 && done > total {
			t.Errorf("%s: %d of %d are done, after %d", item.Place, done, total, last)
		}
		last = done
		items = append(items, item)
	}
}

// opened reads a file of this name and content.
func opened(t testing.TB, name string, data []byte, opt Options) (items []Item, err error) {
	t.Helper()
	s, err := Open(file(t, name, data), nil, opt)
	if err != nil {
		return nil, err
	}
	return all(t, s)
}

func same(t testing.TB, name string, items []Item, want []*pb.SetupRecord) {
	t.Helper()
	if len(items) != len(want) {
		t.Errorf("%s: got %d items, want %d", name, len(items), len(want))
		return
	}
	for i, item := range items {
		if item.Unreadable != "" || !proto.Equal(item.Record, want[i]) {
			t.Errorf("%s: %s\ngot  %s %v\nwant %v", name, item.Place, item.Unreadable, item.Record, want[i])
			return
		}
	}
}

// said is what items say: the line, and why there is no record.
func said(items []Item) []string {
	var result []string
	for _, item := range items {
		result = append(result, strings.TrimSuffix(fmt.Sprintf("%d: %s", item.Place.Line, item.Unreadable), ": "))
	}
	return result
}

func mapOf(t testing.TB, text string) *columns.Map {
	t.Helper()
	m, err := columns.Parse([]byte(text), "map.yaml")
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return m
}

// wideMap is a map for [wideTable].
func wideMap(t testing.TB) *columns.Map {
	var b strings.Builder
	b.WriteString(`record:
  unit: {vin: {column: vin}, model: Scree 200i, model_year: 2026, market: EU, hours: {column: hours}}
  phase: {column: phase}
  shop: ridge-cycles
  technician: {column: technician}
  start_time: {column: start}
  finish_time: {column: finish}
  conditions: [on_wheels, engine_stopped]
  instruments: [{id: rule-1, kind: rule, unit: mm, resolution: 1}]
  readings:
`)
	for i := range 64 {
		if i%4 == 3 {
			fmt.Fprintf(&b, "  - {characteristic: item_%d, pass: {column: item_%d}, time: {column: item_%d time}}\n", i, i, i)
		} else {
			fmt.Fprintf(&b, "  - {characteristic: item_%d, value: {column: item_%d}, unit: mm, instrument: rule-1, time: {column: item_%d time}}\n", i, i, i)
		}
	}
	return mapOf(t, b.String())
}

// wideRow is what stands in the columns of [wideMap] for a record.
func wideRow(m *pb.SetupRecord) (titles, cells []string) {
	add := func(title, cell string) { titles, cells = append(titles, title), append(cells, cell) }
	stamp := func(t *timestamppb.Timestamp) string { return t.AsTime().Format(time.RFC3339) }
	add("vin", m.GetUnit().GetVin())
	add("hours", fmt.Sprint(m.GetUnit().GetHours()))
	add("phase", "handover")
	add("technician", m.GetTechnician())
	add("start", stamp(m.GetStartTime()))
	add("finish", stamp(m.GetFinishTime()))
	for _, r := range m.GetReadings() {
		value := fmt.Sprint(r.GetValue())
		if _, ok := r.GetResult().(*pb.Reading_Pass); ok {
			value = "yes"
		}
		add(r.GetCharacteristic(), value)
		add(r.GetCharacteristic()+" time", stamp(r.GetTime()))
	}
	return titles, cells
}

func wideTable(separator string, records ...*pb.SetupRecord) []byte {
	var b bytes.Buffer
	for i, m := range records {
		titles, cells := wideRow(m)
		if i == 0 {
			b.WriteString(strings.Join(titles, separator) + "\r\n")
		}
		b.WriteString(strings.Join(cells, separator) + "\r\n")
	}
	return b.Bytes()
}
