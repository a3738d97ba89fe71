package document

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/timestamppb"

	"github.com/snapgauge/snapgauge/service/spelling"
)

// Encode writes a message as YAML: the fields that are set, in the order of the
// contract, by their snake_case names, enum values without the prefix of their
// type. The same message always gives the same bytes, and [Decode] gives the
// message again.
//
// It returns an error that names the field for what [Decode] would refuse:
// numbers that are not finite, enum numbers without a name, text that is not
// UTF-8 or has a NUL, time stamps out of range.
func Encode(m proto.Message) ([]byte, error) {
	root, err := encodeMessage("", m.ProtoReflect())
	if err != nil {
		return nil, err
	}
	var buffer bytes.Buffer
	encoder := yaml.NewEncoder(&buffer)
	encoder.SetIndent(2)
	if err := encoder.Encode(root); err != nil {
		return nil, fmt.Errorf("cannot be written as YAML: %w", err)
	}
	if err := encoder.Close(); err != nil {
		return nil, fmt.Errorf("cannot be written as YAML: %w", err)
	}
	return buffer.Bytes(), nil
}

func encodeMessage(path string, m protoreflect.Message) (*yaml.Node, error) {
	node := &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map"}
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		field := fields.Get(i)
		if !m.Has(field) {
			continue
		}
		at := joinPath(path, string(field.Name()))
		value, err := encodeField(at, m.Get(field), field)
		if err != nil {
			return nil, err
		}
		node.Content = append(node.Content, plainNode("!!str", string(field.Name())), value)
	}
	if len(node.Content) == 0 {
		node.Style = yaml.FlowStyle
	}
	return node, nil
}

func encodeField(path string, v protoreflect.Value, field protoreflect.FieldDescriptor) (*yaml.Node, error) {
	if field.IsMap() {
		return nil, fmt.Errorf("%s: cannot be written in a document", path)
	}
	if !field.IsList() {
		return encodeValue(path, v, field)
	}
	node := &yaml.Node{Kind: yaml.SequenceNode, Tag: "!!seq"}
	// Lists of words stand on one line: conditions: [ENGINE_WARM, ON_WHEELS].
	if field.Kind() == protoreflect.EnumKind {
		node.Style = yaml.FlowStyle
	}
	for i := range v.List().Len() {
		item, err := encodeValue(fmt.Sprintf("%s[%d]", path, i), v.List().Get(i), field)
		if err != nil {
			return nil, err
		}
		node.Content = append(node.Content, item)
	}
	return node, nil
}

func encodeValue(path string, v protoreflect.Value, field protoreflect.FieldDescriptor) (*yaml.Node, error) {
	switch field.Kind() {
	case protoreflect.StringKind:
		return encodeText(path, v.String())
	case protoreflect.BoolKind:
		return plainNode("!!bool", strconv.FormatBool(v.Bool())), nil
	case protoreflect.Int32Kind:
		return plainNode("!!int", strconv.FormatInt(v.Int(), 10)), nil
	case protoreflect.DoubleKind:
		return encodeNumber(path, v.Float())
	case protoreflect.EnumKind:
		value := field.Enum().Values().ByNumber(v.Enum())
		if value == nil {
			return nil, fmt.Errorf("%s: got %d, which is no value of it", path, v.Enum())
		}
		return plainNode("!!str", spelling.Of(field.Enum()).Bare(int32(value.Number()))), nil
	case protoreflect.MessageKind:
		m := v.Message()
		if m.Descriptor().FullName() != timestampName {
			return encodeMessage(path, m)
		}
		fields := m.Descriptor().Fields()
		stamp := &timestamppb.Timestamp{
			Seconds: m.Get(fields.ByName("seconds")).Int(),
			Nanos:   int32(m.Get(fields.ByName("nanos")).Int()),
		}
		if err := stamp.CheckValid(); err != nil {
			return nil, fmt.Errorf("%s: got a time out of range", path)
		}
		return plainNode("!!timestamp", stamp.AsTime().Format("2006-01-02T15:04:05.999999999Z07:00")), nil
	}
	return nil, fmt.Errorf("%s: cannot be written in a document", path)
}

func encodeNumber(path string, x float64) (*yaml.Node, error) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil, fmt.Errorf("%s: got %v, want a finite number", path, x)
	}
	format := byte('f')
	if size := math.Abs(x); size != 0 && (size < 1e-6 || size >= 1e15) {
		format = 'e'
	}
	text := strconv.FormatFloat(x, format, -1, 64)
	if strings.ContainsAny(text, ".e") {
		return plainNode("!!float", text), nil
	}
	return plainNode("!!int", text), nil
}

func encodeText(path, text string) (*yaml.Node, error) {
	if !utf8.ValidString(text) {
		return nil, fmt.Errorf("%s: got text that is not UTF-8", path)
	}
	if strings.ContainsRune(text, 0) {
		return nil, fmt.Errorf("%s: got a NUL character in the text", path)
	}
	node := plainNode("!!str", text)
	// Quotes wherever YAML would take line ends, spaces or other signs for its
	// own. Whether plain words look like a number, the encoder sees itself.
	if oldBool[strings.ToLower(text)] || text != strings.TrimSpace(text) || strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsPrint(r) }) {
		node.Style = yaml.DoubleQuotedStyle
	}
	return node, nil
}

// oldBool holds words that are text to [Decode], but true or false to readers
// of YAML 1.1.
var oldBool = map[string]bool{"y": true, "n": true, "yes": true, "no": true, "on": true, "off": true}

func plainNode(tag, value string) *yaml.Node {
	return &yaml.Node{Kind: yaml.ScalarNode, Tag: tag, Value: value}
}
