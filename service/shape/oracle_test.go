package shape_test

import (
	"sync"
	"testing"

	"buf.build/go/protovalidate"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/shape"
)

// roots are the messages that this package speaks of.
func roots() []protoreflect.MessageDescriptor {
	return []protoreflect.MessageDescriptor{
		(*pb.SetupRecord)(nil).ProtoReflect().Descriptor(),
		(*pb.ValidateSetupRequest)(nil).ProtoReflect().Descriptor(),
		(*pb.SubmitSetupRequest)(nil).ProtoReflect().Descriptor(),
	}
}

var prepared = sync.OnceValues(func() (protovalidate.Validator, error) {
	return protovalidate.New(protovalidate.WithMessageDescriptors(roots()...), protovalidate.WithDisableLazy())
})

// ask returns what protovalidate says.
func ask(t testing.TB, m proto.Message) error {
	t.Helper()
	validator, err := prepared()
	if err != nil {
		t.Fatal(err)
	}
	return validator.Validate(m)
}

func sound(m proto.Message) bool {
	if r, ok := m.(*pb.SetupRecord); ok {
		return shape.Sound(r)
	}
	return shape.SoundRequest(m)
}

// wrongTime finds a time stamp that is no time, and returns its field's name.
func wrongTime(m protoreflect.Message) (found protoreflect.FullName) {
	m.Range(func(field protoreflect.FieldDescriptor, value protoreflect.Value) bool {
		look := func(m protoreflect.Message) {
			if ts, ok := m.Interface().(*timestamppb.Timestamp); !ok {
				if at := wrongTime(m); at != "" {
					found = at
				}
			} else if !ts.IsValid() {
				found = field.FullName()
			}
		}
		switch {
		case field.Message() == nil:
		case field.IsList():
			for i := range value.List().Len() {
				look(value.List().Get(i).Message())
			}
		default:
			look(value.Message())
		}
		return found == ""
	})
	return found
}
