package document

import (
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"
	"google.golang.org/protobuf/reflect/protoreflect"
)

// Lines finds the places of fields in a document that was read. It is immutable
// and safe for concurrent use. A nil Lines finds nothing.
type Lines struct {
	root    *yaml.Node
	message protoreflect.MessageDescriptor
}

// Line returns the place of a field, counted from 1: of its value where that
// is one word or number, else of its name. The path is as protovalidate and
// [Error] write it, readings[3].unit. An entry of a list can also be named by
// its identifier or characteristic, as reports do: readings["oil_fill"].value.
// The empty path is the whole document.
//
// When the field itself is not in the document, the place is that of what
// should contain it, and ok is false.
func (l *Lines) Line(fieldPath string) (line, column int, ok bool) {
	if l == nil || l.root == nil {
		return 0, 0, false
	}
	node, place, message := l.root, l.root, l.message
	for rest := fieldPath; rest != ""; {
		var name, index string
		name, index, rest = cutElement(rest)
		field := protoreflect.FieldDescriptor(nil)
		if message != nil {
			field = fieldNamed(message, name)
		}
		if field == nil {
			return place.Line, place.Column, false
		}
		key, value := entry(node, field)
		if key == nil {
			return place.Line, place.Column, false
		}
		node, place, message = value, key, field.Message()
		if value.Kind == yaml.ScalarNode && !isNull(value) {
			place = value
		}
		if index == "" {
			continue
		}
		item := element(value, index)
		if item == nil {
			return place.Line, place.Column, false
		}
		node, place = item, item
	}
	return place.Line, place.Column, true
}

// cutElement takes the first element off a path: name[index].rest.
func cutElement(path string) (name, index, rest string) {
	end := strings.IndexAny(path, ".[")
	if end < 0 {
		return path, "", ""
	}
	name = path[:end]
	if path[end] == '[' {
		closing := strings.IndexByte(path[end:], ']')
		if closing < 0 {
			return name, path[end+1:], ""
		}
		index = path[end+1 : end+closing]
		end += closing + 1
	}
	return name, index, strings.TrimPrefix(path[end:], ".")
}

// entry finds a field in a mapping.
func entry(n *yaml.Node, field protoreflect.FieldDescriptor) (key, value *yaml.Node) {
	if n.Kind != yaml.MappingNode {
		return nil, nil
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		if name := n.Content[i].Value; name == string(field.Name()) || name == field.JSONName() {
			return n.Content[i], n.Content[i+1]
		}
	}
	return nil, nil
}

// element finds an entry of a list, by its number or by its quoted identifier.
func element(n *yaml.Node, index string) *yaml.Node {
	if n.Kind != yaml.SequenceNode {
		return nil
	}
	if i, err := strconv.Atoi(index); err == nil {
		if i < 0 || i >= len(n.Content) {
			return nil
		}
		return n.Content[i]
	}
	id := strings.Trim(index, `"`)
	for _, item := range n.Content {
		for j := 0; j+1 < len(item.Content); j += 2 {
			if name := item.Content[j].Value; (name == "id" || name == "characteristic") && item.Content[j+1].Value == id {
				return item
			}
		}
	}
	return nil
}
