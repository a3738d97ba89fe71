package recordjson

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
)

// demoRecords are the records that come with the sheets.
func demoRecords(t testing.TB) []*pb.SetupRecord {
	files, err := filepath.Glob("../../../../../specs/records/*.yaml")
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
		records = append(records, m)
	}
	return records
}

// full sets every field of a message, lists with two entries, and of each oneof
// the member that is chosen.
func full(m protoreflect.Message, chosen int) {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		field := fields.Get(i)
		if o := field.ContainingOneof(); o != nil && !o.IsSynthetic() && o.Fields().Get(chosen%o.Fields().Len()) != field {
			continue
		}
		if !field.IsList() {
			m.Set(field, example(m.NewField(field), field, chosen))
			continue
		}
		list := m.Mutable(field).List()
		for range 2 {
			list.Append(example(list.NewElement(), field, chosen))
		}
	}
}

func example(v protoreflect.Value, field protoreflect.FieldDescriptor, chosen int) protoreflect.Value {
	switch field.Kind() {
	case protoreflect.StringKind:
		return protoreflect.ValueOfString("Öl \"" + string(field.Name()) + "\"\\\t\u2028😀")
	case protoreflect.BoolKind:
		return protoreflect.ValueOfBool(true)
	case protoreflect.DoubleKind:
		return protoreflect.ValueOfFloat64(-1.5e-7)
	case protoreflect.Int32Kind:
		return protoreflect.ValueOfInt32(math.MaxInt32)
	case protoreflect.EnumKind:
		return protoreflect.ValueOfEnum(field.Enum().Values().Get(1).Number())
	case protoreflect.MessageKind:
		if t, ok := v.Message().Interface().(*timestamppb.Timestamp); ok {
			proto.Merge(t, timestamppb.New(time.Date(2024, 2, 29, 23, 59, 59, 120_000_000, time.UTC)))
			return v
		}
		full(v.Message(), chosen)
	}
	return v
}

func TestEveryFieldOfTheContract(t *testing.T) {
	for chosen := range 4 {
		want := new(pb.SetupRecord)
		full(want.ProtoReflect(), chosen)
		for _, opt := range []protojson.MarshalOptions{{}, {UseProtoNames: true}, {Multiline: true}, {UseEnumNumbers: true}} {
			line, err := opt.Marshal(want)
			if err != nil {
				t.Fatal(err)
			}
			got, err := Decode(string(line))
			if err != nil {
				t.Fatalf("%v\n%s", err, line)
			}
			if !proto.Equal(got, want) {
				t.Errorf("got  %v\nwant %v", got, want)
			}
		}
	}
}

func TestDemoRecords(t *testing.T) {
	for _, want := range demoRecords(t) {
		line, err := protojson.Marshal(want)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Decode(string(line))
		if err != nil {
			t.Fatalf("%v\n%s", err, line)
		}
		if !proto.Equal(got, want) {
			t.Errorf("got  %v\nwant %v", got, want)
		}
	}
}

func TestEveryDayHasItsNumber(t *testing.T) {
	for day := time.Date(1, 1, 1, 0, 0, 0, 0, time.UTC); day.Year() < 10000; day = day.AddDate(0, 0, 1) {
		y, m, d := day.Date()
		if got := int64(daysSinceEpoch(y, int(m), d)) * 86400; got != day.Unix() {
			t.Fatalf("%s: got %d, want %d", day.Format(time.DateOnly), got, day.Unix())
		}
		if next := day.AddDate(0, 0, 1); next.Month() != m && daysIn(y, int(m)) != d {
			t.Fatalf("%d-%d has %d days, got %d", y, m, d, daysIn(y, int(m)))
		}
	}
}

func TestFaults(t *testing.T) {
	deep := strings.Repeat("[", 100_000)
	for _, test := range []struct{ line, want string }{
		{`[]`, `column 1: got a list, want a set-up record in braces`},
		{`hello`, `column 1: got hello, want a set-up record`},
		{`{`, `column 2: got the end of the line, want the name of a field in quotes`},
		{`{"unit":{"vin":"0VST2E3C7TA000702"},"shop":"a",}`, `column 48: got }, want the name of a field`},
		{`{"unit":{"vin":5}}`, `column 16: unit.vin: got the number 5, want text`},
		{`{"unit":{"vinn":"5"}}`, `unit.vinn: there is no such field; did you mean vin?`},
		{`{"unit":[]}`, `column 9: unit: got a list, want fields in braces`},
		{`{"readings":{}}`, `readings: got fields, want a list in brackets`},
		{`{"readings":[{"characteristic":"a"},{"value":"12,5"}]}`, `column 46: readings[1].value: got text "12,5", want a number`},
		{`{"readings":[{"value":1,"pass":true}]}`, `readings[0].pass: is given beside another result`},
		{`{"readings":[{"value":1e999}]}`, `readings[0].value: got 1e999, which is too large`},
		{`{"readings":[{"value":NaN}]}`, `readings[0].value: got NaN, want a number`},
		{`{"readings":[{"value":"NaN"}]}`, `readings[0].value: got text "NaN", want a number`},
		{`{"readings":[{"value":01}]}`, `column 24: readings[0]: got the number 1, want "," or "}"`},
		{`{"readings":[null]}`, `readings[0]: got nothing, want a value`},
		{`{"readings":[{"conditions":["engine_hot"]}]}`, `readings[0].conditions[0]: got "engine_hot"; did you mean ENGINE_`},
		{`{"readings":[{"time":"2026-02-30T00:00:00Z"}]}`, `readings[0].time: got "2026-02-30T00:00:00Z", want a time such as`},
		{`{"readings":[{"time":"0000-01-01T00:00:00Z"}]}`, `readings[0].time: got "0000-`},
		{`{"phase":"handovr"}`, `phase: got "handovr"; did you mean HANDOVER?`},
		{`{"phase":true}`, `phase: got true, want one of PRE_DELIVERY`},
		{`{"shop":"a","shop":"b"}`, `shop: is given twice`},
		{`{"finishTime":null,"finish_time":null}`, `finish_time: is given twice`},
		{`{"shop":"a\u0000"}`, `got a NUL character`},
		{"{\"shop\":\"a\x00\"}", `got the control character U+0000 in a text`},
		{"{\"shop\":\"\xe4\"}", `column 10: got the byte 0xE4, which is not UTF-8 text; save the file as UTF-8`},
		{`{"shop":"\ud800"}`, `got a "\" that means nothing`},
		{`{"shop":"\x"}`, `got a "\" that means nothing`},
		{`{"shop":"a`, `column 9: shop: a quotation mark is not closed`},
		{`{"shop":"a"} {"shop":"b"}`, `column 14: got fields after the record, want one record on a line`},
		{`{"unit":{"modelYear":2026.5}}`, `unit.modelYear: got 2026.5, want a whole number`},
		{`{"unit":{"modelYear":20260000000}}`, `which is too large`},
		{`{"note":` + deep, `note: got a list, want text`},
		{`{"options":` + deep, `options[0]: got a list, want text`},
	} {
		m, err := Decode(test.line)
		if err == nil {
			t.Errorf("%.60s: got %v, want an error", test.line, m)
			continue
		}
		if !strings.Contains(err.Error(), test.want) {
			t.Errorf("%.60s: got  %s\nwant %s", test.line, err, test.want)
		}
	}
}

func TestLeniency(t *testing.T) {
	want := &pb.SetupRecord{
		Unit:       &pb.Unit{ModelYear: 2026, Hours: proto.Float64(1.5)},
		Phase:      pb.Phase_PHASE_PRE_DELIVERY,
		FinishTime: timestamppb.New(time.Date(2026, 7, 2, 9, 0, 0, 0, time.UTC)),
		Readings:   []*pb.Reading{{Result: &pb.Reading_Value{Value: 2}}},
	}
	for _, phase := range []string{`"PHASE_PRE_DELIVERY"`, `"pre-delivery"`, `"Pre Delivery"`, `"pre_delivery"`, `1`, `1.0`} {
		line := fmt.Sprintf("\t{ \"unit\" : {\"model_year\":\"2026\",\"hours\":\"15e-1\", \"odometerKm\":null} ,\r\"phase\":%s,"+
			`"finishTime":"2026-07-02T11:00:00+02:00","conditions":null,"readings":[{"value":2e0,"pass":null}],"expectation":null} `, phase)
		got, err := Decode(line)
		if err != nil {
			t.Errorf("%s: %v", line, err)
		} else if !proto.Equal(got, want) {
			t.Errorf("%s: got %v", line, got)
		}
	}
}

// What protojson reads is read, as the same record; what is read besides has
// short names of enums in it, and documents read it so.
func FuzzDecode(f *testing.F) {
	for _, m := range demoRecords(f)[:5] {
		line, err := protojson.Marshal(m)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(line))
	}
	m := new(pb.SetupRecord)
	full(m.ProtoReflect(), 1)
	line, err := protojson.Marshal(m)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(line))
	f.Add(`{"phase":"handover","unit":{"modelYear":"2026","hours":1e2},"readings":[{"value":"1","time":"2026-07-02T11:00:00.5+02:00"}]}`)
	f.Add(`{"shop":"\ud83d\ude00\/\u00e4","instruments":[{"id":"a","resolution":null,"range":{"lower":-0.0}}]}`)
	f.Fuzz(func(t *testing.T, line string) {
		got, err := Decode(line)
		want := new(pb.SetupRecord)
		wantErr := protojson.Unmarshal([]byte(line), want)
		switch {
		case err == nil && wantErr == nil:
			if !proto.Equal(got, want) {
				t.Errorf("%q:\ngot  %v\nwant %v", line, got, want)
			}
		case wantErr == nil:
			if text, _ := json.Marshal(want.String()); !refused(line) {
				t.Errorf("%q: %v, but it is %s", line, err, text)
			}
		case err == nil:
			if _, problem := document.Decode([]byte(line), want, document.Options{}); problem == nil && !proto.Equal(got, want) {
				t.Errorf("%q:\ngot  %v\nwant %v", line, got, want)
			} else if problem != nil {
				t.Logf("%q is read, but not by others: %v, %v", line, wantErr, problem)
			}
		}
	})
}

var onPurpose = regexp.MustCompile(`"NaN"|Infinity"|\\u0000|\x00|:[0-9]{2},[0-9]`)

// refused reports whether a line may have in it what is refused on purpose.
func refused(line string) bool {
	return onPurpose.MatchString(line)
}

// record64 is a record of 64 readings, as a large job has.
func record64() *pb.SetupRecord {
	at := time.Date(2026, 7, 2, 10, 5, 0, 0, time.UTC)
	m := &pb.SetupRecord{
		Unit:  &pb.Unit{Vin: "0VST2E3C7TA000702", Model: "Scree 200i", ModelYear: 2026, Market: "EU", Hours: proto.Float64(0.4)},
		Phase: pb.Phase_PHASE_HANDOVER, Shop: "ridge-cycles", Technician: "t07",
		StartTime: timestamppb.New(at), FinishTime: timestamppb.New(at.Add(time.Hour)),
		Conditions:  []pb.Condition{pb.Condition_CONDITION_ON_WHEELS, pb.Condition_CONDITION_ENGINE_STOPPED},
		Instruments: []*pb.Instrument{{Id: "rule-1", Kind: pb.InstrumentKind_INSTRUMENT_KIND_RULE, Unit: "mm", Resolution: 1}},
	}
	for i := range 64 {
		r := &pb.Reading{Characteristic: fmt.Sprintf("characteristic_%d", i), Stage: pb.Stage_STAGE_AS_LEFT,
			Time: timestamppb.New(at.Add(time.Duration(i) * time.Minute / 2))}
		if i%4 == 3 {
			r.Result = &pb.Reading_Pass{Pass: true}
		} else {
			r.Result, r.Unit, r.Instrument = &pb.Reading_Value{Value: 3.25 + float64(i)}, "mm", "rule-1"
		}
		m.Readings = append(m.Readings, r)
	}
	return m
}

func BenchmarkDecode(b *testing.B) {
	line, err := protojson.Marshal(record64())
	if err != nil {
		b.Fatal(err)
	}
	for _, way := range []struct {
		name   string
		decode func(string) (*pb.SetupRecord, error)
	}{
		{"recordjson", Decode},
		{"protojson", func(s string) (*pb.SetupRecord, error) {
			m := new(pb.SetupRecord)
			return m, protojson.Unmarshal([]byte(s), m)
		}},
		{"document", func(s string) (*pb.SetupRecord, error) {
			m := new(pb.SetupRecord)
			_, err := document.Decode([]byte(s), m, document.Options{})
			return m, err
		}},
	} {
		b.Run(way.name, func(b *testing.B) {
			b.SetBytes(int64(len(line)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := way.decode(string(line)); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "records/s")
		})
	}
}
