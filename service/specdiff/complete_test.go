package specdiff

import (
	"slices"
	"testing"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// ignored are the fields that make no difference: what things are matched by,
// the names of sheets, and their trial records.
var ignored = []protoreflect.FullName{
	"snapgauge.v1.Characteristic.id", "snapgauge.v1.Option.id", "snapgauge.v1.Bulletin.id", "snapgauge.v1.Rule.id",
	"snapgauge.v1.SpecSheet.spec_id", "snapgauge.v1.SpecSheet.revision", "snapgauge.v1.SpecSheet.examples",
}

// Each field of the contract makes a difference, so that one that is added later
// is not forgotten.
func TestEveryFieldCounts(t *testing.T) {
	kinds := (&pb.Characteristic{}).ProtoReflect().Descriptor().Oneofs().ByName("kind").Fields()
	for i := range kinds.Len() {
		kind := kinds.Get(i).Name()
		ch := &pb.Characteristic{}
		fill(ch.ProtoReflect(), kind)
		without(ch, "", func(path string, less proto.Message) {
			c := &comparison{}
			if c.characteristic(ch, less.(*pb.Characteristic)).none() || c.characteristic(less.(*pb.Characteristic), ch).none() {
				t.Errorf("%s: %s makes no difference", kind, path)
			}
		})
	}
	sheet := &pb.SpecSheet{}
	fill(sheet.ProtoReflect(), "choice")
	for _, section := range []string{"characteristics", "options", "bulletins", "rules"} {
		sheet.ProtoReflect().Clear(sheet.ProtoReflect().Descriptor().Fields().ByName(protoreflect.Name(section)))
	}
	without(sheet, "", func(path string, less proto.Message) {
		if len(compared(sheet, less.(*pb.SpecSheet)).head()) == 0 {
			t.Errorf("head: %s makes no difference", path)
		}
	})
	option, bulletin, rule := &pb.Option{}, &pb.Bulletin{}, &pb.Rule{}
	fill(option.ProtoReflect(), "choice")
	fill(bulletin.ProtoReflect(), "choice")
	fill(rule.ProtoReflect(), "choice")
	without(option, "", func(path string, less proto.Message) {
		c := compared(&pb.SpecSheet{Options: []*pb.Option{option}}, &pb.SpecSheet{Options: []*pb.Option{less.(*pb.Option)}})
		if len(c.options()) != 1 {
			t.Errorf("option: %s makes no difference", path)
		}
	})
	without(bulletin, "", func(path string, less proto.Message) {
		c := compared(&pb.SpecSheet{Bulletins: []*pb.Bulletin{bulletin}}, &pb.SpecSheet{Bulletins: []*pb.Bulletin{less.(*pb.Bulletin)}})
		if len(c.bulletins()) != 1 {
			t.Errorf("bulletin: %s makes no difference", path)
		}
	})
	without(rule, "", func(path string, less proto.Message) {
		c := compared(&pb.SpecSheet{Rules: []*pb.Rule{rule}}, &pb.SpecSheet{Rules: []*pb.Rule{less.(*pb.Rule)}})
		if len(c.rules()) != 1 {
			t.Errorf("rule: %s makes no difference", path)
		}
	})
}

// compared compares sheets that need not pass any check.
func compared(before, after *pb.SpecSheet) *comparison {
	guard := func(s *pb.SpecSheet) float64 {
		if s.GuardBandMultiplier == nil {
			return 1
		}
		return s.GetGuardBandMultiplier()
	}
	return &comparison{before: side{sheet: before, guard: guard(before)}, after: side{sheet: after, guard: guard(after)}}
}

// fill sets every field of a message to something that is not its default; of
// the kinds of a characteristic, the one given.
func fill(m protoreflect.Message, kind protoreflect.Name) {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		field := fields.Get(i)
		if field.ContainingOneof() != nil && field.ContainingOneof().Name() == "kind" && field.Name() != kind {
			continue
		}
		if field.FullName() == "snapgauge.v1.SpecSheet.examples" {
			continue
		}
		switch {
		case field.IsList():
			list := m.Mutable(field).List()
			if field.Message() != nil {
				fill(list.AppendMutable().Message(), kind)
			} else {
				list.Append(scalar(field))
			}
		case field.Message() != nil:
			fill(m.Mutable(field).Message(), kind)
		default:
			m.Set(field, scalar(field))
		}
	}
}

func scalar(field protoreflect.FieldDescriptor) protoreflect.Value {
	switch field.Kind() {
	case protoreflect.BoolKind:
		return protoreflect.ValueOfBool(true)
	case protoreflect.DoubleKind:
		return protoreflect.ValueOfFloat64(3)
	case protoreflect.Int32Kind:
		return protoreflect.ValueOfInt32(3)
	case protoreflect.Int64Kind:
		return protoreflect.ValueOfInt64(3)
	case protoreflect.EnumKind:
		values := field.Enum().Values()
		return protoreflect.ValueOfEnum(values.Get(values.Len() - 1).Number())
	}
	switch field.Name() {
	case "unit":
		return protoreflect.ValueOfString("mm")
	case "thread":
		return protoreflect.ValueOfString("M8")
	}
	return protoreflect.ValueOfString("some " + string(field.Name()))
}

// without visits a copy of the message without each of its fields and those of
// the messages in it.
func without(m proto.Message, path string, visit func(path string, less proto.Message)) {
	var walk func(at protoreflect.Message, path string, get func(protoreflect.Message) protoreflect.Message)
	walk = func(at protoreflect.Message, path string, get func(protoreflect.Message) protoreflect.Message) {
		at.Range(func(field protoreflect.FieldDescriptor, v protoreflect.Value) bool {
			if slices.Contains(ignored, field.FullName()) {
				return true
			}
			less := proto.Clone(m)
			get(less.ProtoReflect()).Clear(field)
			visit(path+string(field.Name()), less)
			switch {
			case field.IsList() && field.Message() != nil:
				walk(v.List().Get(0).Message(), path+string(field.Name())+"[0].", func(root protoreflect.Message) protoreflect.Message {
					return get(root).Mutable(field).List().Get(0).Message()
				})
			case !field.IsList() && field.Message() != nil:
				walk(v.Message(), path+string(field.Name())+".", func(root protoreflect.Message) protoreflect.Message {
					return get(root).Mutable(field).Message()
				})
			}
			return true
		})
	}
	walk(m.ProtoReflect(), path, func(root protoreflect.Message) protoreflect.Message { return root })
}
