package document

import (
	"fmt"
	"strings"

	"go.yaml.in/yaml/v3"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/snapgauge/snapgauge/service/near"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/spelling"
)

// fieldNamed finds a field by its snake_case or lowerCamelCase name, or returns
// nil.
func fieldNamed(m protoreflect.MessageDescriptor, name string) protoreflect.FieldDescriptor {
	if field := m.Fields().ByName(protoreflect.Name(name)); field != nil {
		return field
	}
	return m.Fields().ByJSONName(name)
}

func fieldNames(m protoreflect.MessageDescriptor) []string {
	names := make([]string, m.Fields().Len())
	for i := range names {
		names[i] = string(m.Fields().Get(i).Name())
	}
	return names
}

// fieldExamples names the first fields of a message.
func fieldExamples(m protoreflect.MessageDescriptor) string {
	names := fieldNames(m)
	if len(names) == 0 {
		return "{}"
	}
	return strings.Join(names[:min(3, len(names))], ", ")
}

// suggestField says which fields there are, the nearest alone if one is near.
func suggestField(m protoreflect.MessageDescriptor, got string) string {
	names := fieldNames(m)
	if meant := near.Name(got, names); meant != "" {
		return fmt.Sprintf("; did you mean %s?", meant)
	}
	if len(names) == 0 {
		return "; want none"
	}
	more := ""
	if len(names) > 12 {
		names, more = names[:12], " and others"
	}
	return "; want one of " + strings.Join(names, ", ") + more
}

// enum reads the name of a value, in full or without the prefix of its type,
// in any case, with hyphens or spaces for underscores; or its number.
func enum(n *yaml.Node, e protoreflect.EnumDescriptor) (protoreflect.Value, string) {
	if n.Tag == "!!int" {
		for i := range e.Values().Len() {
			if v := e.Values().Get(i); fmt.Sprint(v.Number()) == n.Value {
				return protoreflect.ValueOfEnum(v.Number()), ""
			}
		}
	}
	names := spelling.Of(e)
	if number, ok := names.Number(n.Value); ok {
		return protoreflect.ValueOfEnum(protoreflect.EnumNumber(number)), ""
	}
	return protoreflect.Value{}, fmt.Sprintf("got %q%s", phrase.Clip(n.Value), names.Advice(n.Value))
}
