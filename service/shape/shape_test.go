package shape_test

import (
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"buf.build/gen/go/bufbuild/protovalidate/protocolbuffers/go/buf/validate"
	"buf.build/go/protovalidate"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
	"github.com/snapgauge/snapgauge/service/shape"
)

// tally counts the good messages, and how many of them are sound.
type tally struct{ tried, good, sound int }

func (c *tally) log(t *testing.T) {
	t.Helper()
	t.Logf("%d tried, %d good, of which sound %.3f %%", c.tried, c.good, 100*float64(c.sound)/float64(c.good))
}

// hold holds a message's soundness against protovalidate, and returns what that
// says. What is good and not sound must have a text that is unusual.
func (c *tally) hold(t *testing.T, m proto.Message, what string) error {
	t.Helper()
	err := ask(t, m)
	good, got := err == nil && wrongTime(m.ProtoReflect()) == "", sound(m)
	c.tried++
	switch {
	case good && got:
		c.good++
		c.sound++
	case good:
		c.good++
		if !unusual(m.ProtoReflect()) {
			t.Errorf("%snot sound, and well formed: %v", what, m)
		}
	case got:
		t.Errorf("%ssound, and refused: %v, wrong time %q: %v", what, err, wrongTime(m.ProtoReflect()), m)
	}
	return err
}

// unusual reports whether a message has a text of those that are left to
// protovalidate.
func unusual(m protoreflect.Message) bool {
	for _, s := range spotsOf(m) {
		if s.field.Kind() != protoreflect.StringKind || s.field.IsList() {
			continue
		}
		if text := s.in.Get(s.field).String(); !utf8.ValidString(text) || strings.ContainsAny(text, "\ufffd\u2028\u2029") {
			return true
		}
	}
	return false
}

func TestSamplesAreSound(t *testing.T) {
	for _, m := range append(samples(), longRecord(64), longRecord(1024)) {
		if err := ask(t, m); err != nil {
			t.Fatal(err)
		}
		if !sound(m) {
			t.Errorf("not sound: %v", m)
		}
	}
}

// The records of the demonstration all have a good form, whatever is wrong with
// their machines.
func TestDemoRecordsAreSound(t *testing.T) {
	files, err := filepath.Glob("../../specs/records/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no records: %v", err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		record := &pb.SetupRecord{}
		if _, err := document.Decode(data, record, document.Options{Name: file}); err != nil {
			t.Fatal(err)
		}
		if !shape.Sound(record) {
			t.Errorf("%s is not sound", file)
		}
	}
}

// Every change of one place, and every constraint of the contract broken by one
// of them while the rest of the message is good.
func TestOneChange(t *testing.T) {
	var count tally
	broken := map[string]bool{}
	for _, sample := range samples() {
		for at, s := range spotsOf(sample.ProtoReflect()) {
			for _, c := range changesAt(s) {
				m := proto.Clone(sample)
				c.do(spotsOf(m.ProtoReflect())[at])
				err := count.hold(t, m, string(s.field.FullName())+": "+c.what+": ")
				for _, constraint := range brokenBy(err, m.ProtoReflect().Descriptor()) {
					broken[constraint] = true
				}
				if wrong := wrongTime(m.ProtoReflect()); wrong != "" && err == nil {
					broken[timeConstraint(wrong)] = true
				}
			}
		}
	}
	count.log(t)
	for _, constraint := range allConstraints() {
		if !broken[constraint] {
			t.Errorf("no message breaks %s alone", constraint)
		}
	}
}

// brokenBy names the constraints of a message that are broken, where they are all
// of one field: then whatever is not sound about the message is in that field.
func brokenBy(err error, root protoreflect.MessageDescriptor) []string {
	var invalid *protovalidate.ValidationError
	if !errors.As(err, &invalid) {
		return nil
	}
	var broken []string
	at := protovalidate.FieldPathString(invalid.Violations[0].Proto.GetField())
	for _, v := range invalid.Violations {
		if protovalidate.FieldPathString(v.Proto.GetField()) != at {
			return nil
		}
		rule := protovalidate.FieldPathString(v.Proto.GetRule())
		if rule == "" { // of the whole message
			broken = append(broken, celConstraint(v.Proto.GetRuleId()))
			continue
		}
		if _, upper, both := strings.Cut(v.Proto.GetRuleId(), "_lt"); both && aboveLower(v) {
			rule = rule[:strings.LastIndex(rule, ".")+1] + "lt" + upper
		}
		broken = append(broken, fieldConstraint(fieldAt(root, v.Proto.GetField()), rule))
	}
	return broken
}

// aboveLower reports whether it is the upper end of a range that is broken:
// protovalidate names the lower one for both.
func aboveLower(v *protovalidate.Violation) bool {
	switch got := v.FieldValue.Interface().(type) {
	case int32:
		return int64(got) > v.RuleValue.Int()
	case float64:
		return got > v.RuleValue.Float()
	}
	return false
}

// fieldAt is the last field of a path.
func fieldAt(m protoreflect.MessageDescriptor, path *validate.FieldPath) (field protoreflect.FieldDescriptor) {
	for _, element := range path.GetElements() {
		field = m.Fields().ByNumber(protoreflect.FieldNumber(element.GetFieldNumber()))
		m = field.Message()
	}
	return field
}

// Some thousands of messages with one, two or three changes, the same ones each
// time.
func TestChangesAtRandom(t *testing.T) {
	const seed = 20260227
	rounds := 60_000
	if testing.Short() {
		rounds = 6_000
	}
	var count tally
	all := samples()
	rng := rand.New(rand.NewPCG(seed, 0))
	for range rounds {
		m := proto.Clone(all[rng.IntN(len(all))])
		var what string
		for range 1 + rng.IntN(3) {
			what += anyChange(rng, m.ProtoReflect())
		}
		_ = count.hold(t, m, what)
	}
	count.log(t)
	if count.good < count.tried/10 || count.sound < count.good*95/100 {
		t.Errorf("the test shows little: %+v", count)
	}
}

// FuzzSound asks of any bytes that are a record: what is sound is not refused.
// The seed of a few changes lets it go to what bytes seldom reach.
func FuzzSound(f *testing.F) {
	for _, m := range samples() {
		if r, ok := m.(*pb.SetupRecord); ok {
			wire, err := proto.Marshal(r)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(wire, uint64(0), uint8(0))
			f.Add(wire, uint64(1), uint8(3))
		}
	}
	f.Fuzz(func(t *testing.T, wire []byte, seed uint64, changes uint8) {
		record := &pb.SetupRecord{}
		if proto.Unmarshal(wire, record) != nil {
			return
		}
		rng := rand.New(rand.NewPCG(seed, 0))
		for range changes % 4 {
			anyChange(rng, record.ProtoReflect())
		}
		var count tally
		_ = count.hold(t, record, "")
	})
}

// What only a Go program can make, and no bytes, is not sound.
func TestHolesAreNotSound(t *testing.T) {
	for name, m := range map[string]proto.Message{
		"no record":            (*pb.SetupRecord)(nil),
		"no request":           (*pb.ValidateSetupRequest)(nil),
		"no submission":        (*pb.SubmitSetupRequest)(nil),
		"another message":      &pb.GetSetupRequest{Name: "setups/a"},
		"a nil reading":        withRecord(func(r *pb.SetupRecord) { r.Readings[0] = nil }),
		"a nil instrument":     withRecord(func(r *pb.SetupRecord) { r.Instruments[0] = nil }),
		"a nil value":          withRecord(func(r *pb.SetupRecord) { r.Readings[0].Result = (*pb.Reading_Value)(nil) }),
		"a nil pass":           withRecord(func(r *pb.SetupRecord) { r.Readings[0].Result = (*pb.Reading_Pass)(nil) }),
		"a nil choice":         withRecord(func(r *pb.SetupRecord) { r.Readings[0].Result = (*pb.Reading_Choice)(nil) }),
		"a nil text":           withRecord(func(r *pb.SetupRecord) { r.Readings[0].Result = (*pb.Reading_Text)(nil) }),
		"a nil uncertainty":    withRecord(func(r *pb.SetupRecord) { r.Instruments[0].Accuracy = (*pb.Instrument_ExpandedUncertainty)(nil) }),
		"a nil error":          withRecord(func(r *pb.SetupRecord) { r.Instruments[0].Accuracy = (*pb.Instrument_MaxPermissibleError)(nil) }),
		"a nil deviation":      withRecord(func(r *pb.SetupRecord) { r.Instruments[0].Accuracy = (*pb.Instrument_MaxDeviationPercent)(nil) }),
		"a nil message at all": nil,
	} {
		if sound(m) {
			t.Errorf("%s is sound", name)
		}
	}
}

func withRecord(change func(*pb.SetupRecord)) *pb.SetupRecord {
	r := fullRecord()
	change(r)
	return r
}

func TestSoundDoesNotAllocate(t *testing.T) {
	for _, m := range append(samples(), longRecord(64)) {
		if n := testing.AllocsPerRun(20, func() { sound(m) }); n > 0 {
			t.Errorf("%v allocations for %T", n, m)
		}
	}
}
