package document

import (
	"fmt"

	"go.yaml.in/yaml/v3"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/snapgauge/snapgauge/service/phrase"
)

const (
	// DefaultMaxBytes is the largest document that is read unless [Options] say
	// otherwise; enough for a record of a thousand readings.
	DefaultMaxBytes = 1 << 20
	// SheetMaxBytes is the size that spec sheets are allowed.
	SheetMaxBytes = 4 << 20

	maxDepth  = 64
	maxErrors = 50
)

// Options say how to read a document. The zero Options are good for a record
// without a name.
type Options struct {
	// Name of the file, for messages. It is not opened.
	Name string
	// MaxBytes is the largest size to read; nought means [DefaultMaxBytes].
	MaxBytes int64
}

// Decode reads one document into m, which is cleared first. The result finds
// places in the document; it is not nil when there is no error.
//
// Whatever is wrong with the document is a *[Error] if it is one thing, [Errors]
// if several, at most fifty. What is then in m has no meaning. Decode does not
// panic, whatever the data.
func Decode(data []byte, m proto.Message, opt Options) (*Lines, error) {
	proto.Reset(m)
	root, err := parse(data, opt)
	if err != nil {
		return nil, err
	}
	d := &decoder{file: opt.Name}
	d.plain(root, 1)
	if len(d.errors) == 0 {
		d.message("", root, m.ProtoReflect())
	}
	switch len(d.errors) {
	case 0:
		return &Lines{root: root, message: m.ProtoReflect().Descriptor()}, nil
	case 1:
		return nil, d.errors[0]
	}
	return nil, d.errors
}

// decoder walks a document along with the message that it fills.
type decoder struct {
	file   string
	errors Errors

	alias, anchor bool // told of
}

func (d *decoder) add(n *yaml.Node, field, format string, args ...any) {
	if d.full() {
		return
	}
	if len(d.errors) == maxErrors-1 {
		field, format, args = "", "from here on more is wrong than is worth telling at once", nil
	}
	d.errors = append(d.errors, &Error{
		File: d.file, Line: n.Line, Column: n.Column, Field: field, Message: fmt.Sprintf(format, args...),
	})
}

// once tells of a kind of fault where it first stands. Who uses anchors uses
// many, and one line says it.
func (d *decoder) once(told *bool, n *yaml.Node, format string, args ...any) {
	if !*told {
		*told = true
		d.add(n, "", format, args...)
	}
}

// full reports whether there are as many errors as are told.
func (d *decoder) full() bool { return len(d.errors) >= maxErrors }

// plain refuses what makes YAML more than data, and nesting that no message
// has.
func (d *decoder) plain(n *yaml.Node, depth int) {
	switch {
	case depth > maxDepth:
		d.add(n, "", "nested more than %d deep", maxDepth)
		return
	case n.Kind == yaml.AliasNode:
		d.once(&d.alias, n, "got the alias *%s: aliases are not used here; write it out", phrase.Clip(n.Value))
		return
	case n.Anchor != "":
		d.once(&d.anchor, n, "got the anchor &%s: anchors are not used here", phrase.Clip(n.Anchor))
	case n.Tag == "!!merge":
		d.add(n, "", "got a merge key <<: these are not used here; write it out")
	case n.Style&yaml.TaggedStyle != 0:
		d.add(n, "", "got the tag %s: tags are not used here", phrase.Clip(n.Tag))
	}
	for _, child := range n.Content {
		d.plain(child, depth+1)
	}
}

// message fills m from a mapping.
func (d *decoder) message(path string, n *yaml.Node, m protoreflect.Message) {
	if n.Kind != yaml.MappingNode {
		d.add(n, path, "got %s, want fields such as %s", describe(n), fieldExamples(m.Descriptor()))
		return
	}
	seen := make(map[protoreflect.FieldNumber]*yaml.Node, len(n.Content)/2)
	for i := 0; i+1 < len(n.Content) && !d.full(); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		if key.Kind != yaml.ScalarNode {
			d.add(key, path, "got %s, want the name of a field", describe(key))
			continue
		}
		field := fieldNamed(m.Descriptor(), key.Value)
		if field == nil {
			d.add(key, path, "unknown field %q%s", phrase.Clip(key.Value), suggestField(m.Descriptor(), key.Value))
			continue
		}
		at := joinPath(path, string(field.Name()))
		if first := seen[field.Number()]; first != nil {
			d.add(key, at, "is given twice; first on line %d", first.Line)
			continue
		}
		seen[field.Number()] = key
		if isNull(value) {
			continue // not filled in
		}
		if oneof := field.ContainingOneof(); oneof != nil {
			if other := m.WhichOneof(oneof); other != nil {
				d.add(key, at, "is given beside %s on line %d; only one of them may be", other.Name(), seen[other.Number()].Line)
				continue
			}
		}
		d.field(at, value, m, field)
	}
}

// field sets one field of m.
func (d *decoder) field(path string, n *yaml.Node, m protoreflect.Message, field protoreflect.FieldDescriptor) {
	switch {
	case field.IsMap():
		d.add(n, path, "cannot be written in a document")
	case field.IsList():
		if n.Kind != yaml.SequenceNode {
			d.add(n, path, "got %s, want a list", describe(n))
			return
		}
		list := m.Mutable(field).List()
		for i, item := range n.Content {
			if d.full() {
				return
			}
			at := fmt.Sprintf("%s[%d]", path, i)
			if isNull(item) {
				d.add(item, at, "is empty; want %s", wanted(field))
				continue
			}
			if v, ok := d.value(at, item, field, list.NewElement); ok {
				list.Append(v)
			}
		}
	default:
		if v, ok := d.value(path, n, field, func() protoreflect.Value { return m.NewField(field) }); ok {
			m.Set(field, v)
		}
	}
}

// value reads one value of the field's type. A message is made by fresh. It
// returns false when there is an error.
func (d *decoder) value(path string, n *yaml.Node, field protoreflect.FieldDescriptor, fresh func() protoreflect.Value) (protoreflect.Value, bool) {
	before := len(d.errors)
	if sub := field.Message(); sub != nil && sub.FullName() != timestampName {
		v := fresh()
		d.message(path, n, v.Message())
		return v, len(d.errors) == before
	}
	if n.Kind != yaml.ScalarNode {
		d.add(n, path, "got %s, want %s", describe(n), wanted(field))
		return protoreflect.Value{}, false
	}
	v, problem := scalar(n, field, fresh)
	if problem != "" {
		d.add(n, path, "%s", problem)
	}
	return v, problem == ""
}

func joinPath(path, name string) string {
	if path == "" {
		return name
	}
	return path + "." + name
}

// isNull reports whether nothing was written, or null.
func isNull(n *yaml.Node) bool { return n.Kind == yaml.ScalarNode && n.Tag == "!!null" }
