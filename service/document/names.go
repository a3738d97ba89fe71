package document

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"go.yaml.in/yaml/v3"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/snapgauge/snapgauge/service/near"
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

// enumNames are the spellings of the values of an enum.
type enumNames struct {
	short  []string // in the order of the values, without UNSPECIFIED
	prefix string
	values map[string]protoreflect.EnumNumber // by full and short name
}

var enums sync.Map // of protoreflect.FullName to *enumNames

// namesOf returns the spellings of an enum. They are shared.
func namesOf(e protoreflect.EnumDescriptor) *enumNames {
	if known, ok := enums.Load(e.FullName()); ok {
		return known.(*enumNames)
	}
	names := &enumNames{values: make(map[string]protoreflect.EnumNumber)}
	values := e.Values()
	// By the style of the contract, value nought is {PREFIX}_UNSPECIFIED.
	names.prefix, _ = strings.CutSuffix(string(values.Get(0).Name()), "UNSPECIFIED")
	for i := range values.Len() {
		full := string(values.Get(i).Name())
		short := strings.TrimPrefix(full, names.prefix)
		names.values[full] = values.Get(i).Number()
		names.values[short] = values.Get(i).Number()
		if short != "UNSPECIFIED" {
			names.short = append(names.short, short)
		}
	}
	known, _ := enums.LoadOrStore(e.FullName(), names)
	return known.(*enumNames)
}

func shortNames(e protoreflect.EnumDescriptor) []string { return namesOf(e).short }

// enum reads the name of a value, in full or without the prefix of its type,
// in any case, with hyphens or spaces for underscores; or its number.
func enum(n *yaml.Node, e protoreflect.EnumDescriptor) (protoreflect.Value, string) {
	names := namesOf(e)
	if n.Tag == "!!int" {
		for i := range e.Values().Len() {
			if v := e.Values().Get(i); fmt.Sprint(v.Number()) == n.Value {
				return protoreflect.ValueOfEnum(v.Number()), ""
			}
		}
	}
	spelled := strings.NewReplacer("-", "_", " ", "_").Replace(strings.ToUpper(n.Value))
	if number, ok := names.values[spelled]; ok {
		return protoreflect.ValueOfEnum(number), ""
	}
	problem := fmt.Sprintf("got %q", clip(n.Value))
	if meant := near.Name(strings.TrimPrefix(spelled, names.prefix), names.short); meant != "" {
		return protoreflect.Value{}, fmt.Sprintf("%s; did you mean %s?", problem, meant)
	}
	short := slices.Clone(names.short)
	if len(short) > 12 {
		short = append(short[:12], "…")
	}
	return protoreflect.Value{}, problem + ", want one of " + strings.Join(short, ", ")
}
