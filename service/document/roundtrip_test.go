package document_test

import (
	"bytes"
	"math"
	"testing"
	"time"

	"buf.build/go/protoyaml"
	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
)

// fill sets fields of m to arbitrary values that documents can hold.
func fill(t *rapid.T, m protoreflect.Message) {
	if m.Descriptor().FullName() == "google.protobuf.Timestamp" {
		seconds := rapid.Int64Range(-62135596800, 253402300799).Draw(t, "seconds")
		nanos := rapid.SampledFrom([]int32{0, 0, 1, 500_000_000, 999_999_999}).Draw(t, "nanos")
		proto.Merge(m.Interface(), &timestamppb.Timestamp{Seconds: seconds, Nanos: nanos})
		return
	}
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		field := fields.Get(i)
		if rapid.IntRange(0, 2).Draw(t, "set") == 0 {
			continue
		}
		if field.IsList() {
			list := m.NewField(field).List()
			for range rapid.IntRange(1, 3).Draw(t, "length") {
				list.Append(arbitrary(t, field, list.NewElement))
			}
			m.Set(field, protoreflect.ValueOfList(list))
			continue
		}
		m.Set(field, arbitrary(t, field, func() protoreflect.Value { return m.NewField(field) }))
	}
}

func arbitrary(t *rapid.T, field protoreflect.FieldDescriptor, fresh func() protoreflect.Value) protoreflect.Value {
	switch field.Kind() {
	case protoreflect.BoolKind:
		return protoreflect.ValueOfBool(rapid.Bool().Draw(t, "bool"))
	case protoreflect.Int32Kind:
		return protoreflect.ValueOfInt32(rapid.Int32().Draw(t, "int"))
	case protoreflect.DoubleKind:
		x := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{
			0, 1e21, 1e-7, math.MaxFloat64, math.SmallestNonzeroFloat64, 1. / 3,
		})).Draw(t, "number")
		if x == 0 && !field.HasPresence() {
			x = 0 // not -0, which is set before it is cloned and unset afterwards
		}
		return protoreflect.ValueOfFloat64(x)
	case protoreflect.EnumKind:
		values := field.Enum().Values()
		return protoreflect.ValueOfEnum(values.Get(rapid.IntRange(0, values.Len()-1).Draw(t, "enum")).Number())
	case protoreflect.MessageKind:
		v := fresh()
		fill(t, v.Message())
		return v
	}
	return protoreflect.ValueOfString(rapid.OneOf(
		rapid.StringN(0, 12, -1).Filter(func(s string) bool { return !bytes.ContainsRune([]byte(s), 0) }),
		rapid.StringMatching(`[-?:,\[\]{}#&*!|>'"%@ \t\n\\a-z0-9.~<=]{0,10}`),
		rapid.SampledFrom([]string{
			"", " ", "null", "~", "yes", "true", "<<", "=", "1e3", "0x1f", "010", "1_000", ".nan", "2026-03-01", "12:30", "-",
			"--- a", "...", "a: b", "a #b", "# a", "two\nlines", "two\nlines\n", "\n", "\ttab", "x\r\ny", "\u0085", "\u2028",
			"\ufeff", "é€😀", "'", `"`, `\`, "&a", "*a", "!t", "%d", "@x", "`x", "¼ turn", "8.8", "M8x1.25", "\x7f", "\x01",
		}),
	).Draw(t, "text"))
}

func TestRoundTrip(t *testing.T) {
	for _, m := range []proto.Message{&pb.SetupRecord{}, &pb.SheetFile{}, &pb.Report{}} {
		t.Run(string(m.ProtoReflect().Descriptor().Name()), rapid.MakeCheck(func(t *rapid.T) {
			want := m.ProtoReflect().New()
			fill(t, want)
			data, err := document.Encode(want.Interface())
			if err != nil {
				t.Fatalf("Encode: %v", err)
			}
			again, err := document.Encode(proto.Clone(want.Interface()))
			if err != nil || !bytes.Equal(data, again) {
				t.Fatalf("the same message gave other bytes (%v):\n%s\n%s", err, data, again)
			}
			got := m.ProtoReflect().New()
			if _, err := document.Decode(data, got.Interface(), document.Options{MaxBytes: document.SheetMaxBytes}); err != nil {
				t.Fatalf("Decode: %v\n%s", err, data)
			}
			if !proto.Equal(want.Interface(), got.Interface()) {
				t.Fatalf("want -, got +:\n%s\n%s", cmp.Diff(want.Interface(), got.Interface(), protocmp.Transform()), data)
			}
		}))
	}
}

// TestAgainstReference compares with an independent reader of the same notation
// on what both are to accept.
func TestAgainstReference(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := (&pb.SheetFile{}).ProtoReflect()
		fill(t, m)
		data, err := protoyaml.MarshalOptions{UseProtoNames: rapid.Bool().Draw(t, "names"), AllowPartial: true}.Marshal(m.Interface())
		if err != nil {
			t.Skip(err)
		}
		want, got := &pb.SheetFile{}, &pb.SheetFile{}
		if err := protoyaml.Unmarshal(data, want); err != nil {
			t.Skip(err)
		}
		if _, err := document.Decode(data, got, document.Options{MaxBytes: document.SheetMaxBytes}); err != nil {
			t.Fatalf("Decode: %v\n%s", err, data)
		}
		if diff := cmp.Diff(want, got, protocmp.Transform()); diff != "" {
			t.Fatalf("reference -, got +:\n%s\n%s", diff, data)
		}
	})
}

func TestEncodeForm(t *testing.T) {
	record := &pb.SetupRecord{
		Unit:       &pb.Unit{Vin: "0SGETBA2XTA000123", Model: "Marten 250T", ModelYear: 2026, Market: "EU", Hours: proto.Float64(0)},
		Phase:      pb.Phase_PHASE_PRE_DELIVERY,
		FinishTime: timestamppb.New(time.Date(2026, 3, 1, 9, 20, 0, 0, time.UTC)),
		Conditions: []pb.Condition{pb.Condition_CONDITION_ENGINE_WARM, pb.Condition_CONDITION_ON_WHEELS},
		Options:    []string{"skid_plate"},
		Readings: []*pb.Reading{
			{Characteristic: "idle", Result: &pb.Reading_Value{Value: 1350}, Unit: "/min"},
			{Characteristic: "stop", Result: &pb.Reading_Pass{Pass: false}, Fitted: &pb.FittedFastener{PropertyClass: "8.8"}},
		},
		Note: "yes",
	}
	want := `unit:
  vin: 0SGETBA2XTA000123
  model: Marten 250T
  model_year: 2026
  market: EU
  hours: 0
phase: PRE_DELIVERY
finish_time: 2026-03-01T09:20:00Z
options:
  - skid_plate
conditions: [ENGINE_WARM, ON_WHEELS]
readings:
  - characteristic: idle
    value: 1350
    unit: /min
  - characteristic: stop
    pass: false
    fitted:
      property_class: "8.8"
note: "yes"
`
	got, err := document.Encode(record)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, string(got)); diff != "" {
		t.Errorf("want -, got +:\n%s", diff)
	}
}

func TestEncodeRefuses(t *testing.T) {
	value := func(x float64) *pb.SetupRecord {
		return &pb.SetupRecord{Readings: []*pb.Reading{{Result: &pb.Reading_Value{Value: x}}}}
	}
	for name, test := range map[string]struct {
		message proto.Message
		want    string
	}{
		"not a number": {value(math.NaN()), "readings[0].value: got NaN, want a finite number"},
		"infinity":     {value(math.Inf(-1)), "readings[0].value: got -Inf, want a finite number"},
		"enum":         {&pb.SetupRecord{Phase: 77}, "phase: got 77, which is no value of it"},
		"NUL":          {&pb.SetupRecord{Note: "a\x00b"}, "note: got a NUL character in the text"},
		"not UTF-8":    {&pb.SetupRecord{Note: "\xff"}, "note: got text that is not UTF-8"},
		"time":         {&pb.SetupRecord{StartTime: &timestamppb.Timestamp{Seconds: math.MaxInt64}}, "start_time: got a time out of range"},
	} {
		t.Run(name, func(t *testing.T) {
			if _, err := document.Encode(test.message); err == nil || err.Error() != test.want {
				t.Errorf("got %v, want %s", err, test.want)
			}
		})
	}
}
