package shape_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"buf.build/gen/go/bufbuild/protovalidate/protocolbuffers/go/buf/validate"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
)

var update = flag.Bool("update", false, "write testdata/constraints.txt anew")

const constraintsFile = "testdata/constraints.txt"

// This package says by hand what these fields and constraints say. When this
// test fails, first change the package, or let it give false for what is new;
// then go test ./service/shape -update.
func TestConstraintsAreThoseThisPackageWasWrittenFor(t *testing.T) {
	var text strings.Builder
	for _, m := range reached() {
		fmt.Fprintf(&text, "%s%s\n", m.FullName(), options(t, m, validate.E_Message))
		for i := range m.Oneofs().Len() {
			if oneof := m.Oneofs().Get(i); !oneof.IsSynthetic() {
				fmt.Fprintf(&text, "  oneof %s%s\n", oneof.Name(), options(t, oneof, validate.E_Oneof))
			}
		}
		for i := range m.Fields().Len() {
			field := m.Fields().Get(i)
			fmt.Fprintf(&text, "  %d %s %s%s\n", field.Number(), field.Name(), typeOf(field), options(t, field, validate.E_Field))
		}
	}
	if *update {
		if err := os.WriteFile(constraintsFile, []byte(text.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(constraintsFile)
	if err != nil {
		t.Fatal(err)
	}
	was, is := strings.Split(string(want), "\n"), strings.Split(text.String(), "\n")
	for _, line := range is {
		if !slices.Contains(was, line) {
			t.Errorf("the contract has, and this package does not know: %s", line)
		}
	}
	for _, line := range was {
		if !slices.Contains(is, line) {
			t.Errorf("this package knows, and the contract has not: %s", line)
		}
	}
	if !t.Failed() && text.String() != string(want) {
		t.Errorf("the contract has the same lines as %s in another order", constraintsFile)
	}
}

// reached lists the messages that can be in a root, themselves first.
func reached() []protoreflect.MessageDescriptor {
	all := roots()
	for at := 0; at < len(all); at++ {
		fields := all[at].Fields()
		for i := range fields.Len() {
			if m := fields.Get(i).Message(); m != nil && !slices.Contains(all, m) {
				all = append(all, m)
			}
		}
	}
	return all
}

// typeOf says what decides whether a field is there and what may be in it.
func typeOf(field protoreflect.FieldDescriptor) string {
	kind := field.Kind().String()
	switch {
	case field.Message() != nil:
		kind = string(field.Message().FullName())
	case field.Enum() != nil:
		kind = string(field.Enum().FullName())
	}
	switch oneof := field.ContainingOneof(); {
	case field.IsMap():
		return "map " + kind
	case field.IsList():
		return "repeated " + kind
	case oneof != nil && !oneof.IsSynthetic():
		return kind + " of " + string(oneof.Name())
	case field.HasPresence() && field.Message() == nil:
		return "optional " + kind
	}
	return kind
}

// options is the constraint option of a descriptor in JSON, its fields in the
// order of their numbers.
func options(t *testing.T, d protoreflect.Descriptor, extension protoreflect.ExtensionType) string {
	t.Helper()
	refuseUnknown(t, d, d.Options().ProtoReflect())
	if !proto.HasExtension(d.Options(), extension) {
		return ""
	}
	data, err := protojson.Marshal(proto.GetExtension(d.Options(), extension).(proto.Message))
	if err != nil {
		t.Fatal(err)
	}
	// What protojson writes has blanks at random.
	var plain bytes.Buffer
	if err := json.Compact(&plain, data); err != nil {
		t.Fatal(err)
	}
	return " " + plain.String()
}

// refuseUnknown fails on what this test could not print.
func refuseUnknown(t *testing.T, d protoreflect.Descriptor, m protoreflect.Message) {
	t.Helper()
	if len(m.GetUnknown()) > 0 {
		t.Errorf("%s has options that are not known here", d.FullName())
	}
	m.Range(func(field protoreflect.FieldDescriptor, value protoreflect.Value) bool {
		switch {
		case field.Message() == nil || field.IsMap():
		case field.IsList():
			for i := range value.List().Len() {
				refuseUnknown(t, d, value.List().Get(i).Message())
			}
		default:
			refuseUnknown(t, d, value.Message())
		}
		return true
	})
}

// allConstraints names every constraint that a message can break, and every time
// that can be wrong.
func allConstraints() []string {
	var names []string
	for _, m := range reached() {
		if m.FullName() == "google.protobuf.Timestamp" {
			continue
		}
		for _, cel := range proto.GetExtension(m.Options(), validate.E_Message).(*validate.MessageRules).GetCel() {
			names = append(names, celConstraint(cel.GetId()))
		}
		for i := range m.Fields().Len() {
			field := m.Fields().Get(i)
			if sub := field.Message(); sub != nil && sub.FullName() == "google.protobuf.Timestamp" {
				names = append(names, timeConstraint(field.FullName()))
			}
			rules := proto.GetExtension(field.Options(), validate.E_Field).(*validate.FieldRules)
			for _, rule := range leaves("", rules.ProtoReflect()) {
				if rule != "ignore" {
					names = append(names, fieldConstraint(field, rule))
				}
			}
		}
	}
	return names
}

// leaves are the paths of what is set in a message.
func leaves(path string, m protoreflect.Message) []string {
	var found []string
	m.Range(func(field protoreflect.FieldDescriptor, value protoreflect.Value) bool {
		at := path + string(field.Name())
		if field.Message() != nil && !field.IsList() {
			found = append(found, leaves(at+".", value.Message())...)
		} else {
			found = append(found, at)
		}
		return true
	})
	return found
}

func fieldConstraint(field protoreflect.FieldDescriptor, rule string) string {
	return string(field.FullName()) + " " + rule
}

func celConstraint(id string) string { return "cel " + id }

func timeConstraint(field protoreflect.FullName) string { return string(field) + " valid" }
