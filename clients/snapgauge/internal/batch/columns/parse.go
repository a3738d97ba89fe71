package columns

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"time"
	_ "time/tzdata" // so that a map means the same on machines without time zones

	"go.yaml.in/yaml/v3"
	"google.golang.org/protobuf/reflect/protoreflect"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
	"github.com/snapgauge/snapgauge/service/near"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spelling"
)

const (
	mostFaults = 50
	mostDepth  = 16
)

// Parse reads a map; name is that of its file. The error is document.Errors.
func Parse(data []byte, name string) (*Map, error) {
	root, err := tree(data, name)
	if err != nil {
		return nil, err
	}
	p := &parser{Map: Map{name: name, conventions: conventions{times: iso}}, ids: make(map[string]int)}
	p.plain(root, 0)
	if len(p.faults) == 0 {
		p.document(root)
	}
	if len(p.faults) > 0 {
		slices.SortStableFunc(p.faults, func(a, b *document.Error) int { return a.Line - b.Line })
		return nil, p.faults
	}
	return &p.Map, nil
}

// tree reads the YAML. What is wrong with that is found out by the room that
// reads documents, so that it is told as for any other.
func tree(data []byte, name string) (root *yaml.Node, err error) {
	broken := func() error {
		_, err := document.Decode(data, new(pb.SetupRecord), document.Options{Name: name, MaxBytes: mostBytes})
		if one := (*document.Error)(nil); errors.As(err, &one) {
			return document.Errors{one}
		}
		return document.Errors{{File: name, Message: "this is not a column map that can be read"}}
	}
	defer func() {
		if recover() != nil { // the parser is not ours
			root, err = nil, broken()
		}
	}()
	decoder := yaml.NewDecoder(bytes.NewReader(data))
	var doc, next yaml.Node
	if err := decoder.Decode(&doc); err != nil || len(doc.Content) != 1 || null(doc.Content[0]) || bytes.IndexByte(data, 0) >= 0 {
		return nil, broken()
	}
	if err := decoder.Decode(&next); !errors.Is(err, io.EOF) {
		return nil, broken() // more than one document
	}
	return doc.Content[0], nil
}

type parser struct {
	Map
	faults document.Errors
	ids    map[string]int // of columns, by name
}

func (p *parser) fault(n *yaml.Node, path, format string, args ...any) {
	if len(p.faults) < mostFaults {
		p.faults = append(p.faults, &document.Error{
			File: p.name, Line: n.Line, Column: n.Column, Field: path, Message: fmt.Sprintf(format, args...)})
	}
}

// plain refuses what makes YAML more than data, and nesting that no map has.
func (p *parser) plain(n *yaml.Node, depth int) {
	switch {
	case depth > mostDepth:
		p.fault(n, "", "nested more than %d deep", mostDepth)
		return
	case n.Kind == yaml.AliasNode, n.Anchor != "", n.Tag == "!!merge", n.Style&yaml.TaggedStyle != 0:
		p.fault(n, "", "anchors, aliases and tags are not used here; write it out")
		return
	}
	for _, child := range n.Content {
		p.plain(child, depth+1)
	}
}

// each hands on every entry of a mapping that is filled in, by its key.
func (p *parser) each(n *yaml.Node, path string, entry func(key, value *yaml.Node)) {
	if n.Kind != yaml.MappingNode {
		p.fault(n, path, "got %s, want names with values", describe(n))
		return
	}
	seen := make(map[string]int)
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		switch {
		case key.Kind != yaml.ScalarNode:
			p.fault(key, path, "got %s, want a name", describe(key))
		case seen[key.Value] > 0:
			p.fault(key, join(path, key.Value), "is given twice; first on line %d", seen[key.Value])
		default:
			seen[key.Value] = key.Line
			entry(key, value)
		}
	}
}

func (p *parser) unknown(key *yaml.Node, path string, names ...string) {
	if meant := near.Name(key.Value, names); meant != "" {
		p.fault(key, path, "there is no %q; did you mean %s?", phrase.Clip(key.Value), meant)
		return
	}
	p.fault(key, path, "there is no %q; want one of %s", phrase.Clip(key.Value), strings.Join(names, ", "))
}

func (p *parser) text(n *yaml.Node, path string) (string, bool) {
	if n.Kind != yaml.ScalarNode || null(n) {
		p.fault(n, path, "got %s, want text", describe(n))
		return "", false
	}
	return n.Value, true
}

// texts reads one text or a list of them.
func (p *parser) texts(n *yaml.Node, path string) []string {
	nodes := []*yaml.Node{n}
	if n.Kind == yaml.SequenceNode {
		nodes = n.Content
	}
	var result []string
	for _, node := range nodes {
		if s, ok := p.text(node, path); ok {
			result = append(result, s)
		}
	}
	return result
}

func (p *parser) document(root *yaml.Node) {
	var table, common, record *yaml.Node
	p.each(root, "", func(key, value *yaml.Node) {
		switch key.Value {
		case "table":
			table = value
		case "words":
			common = value
		case "record":
			record = value
		default:
			p.unknown(key, "", "table", "words", "record")
		}
	})
	if table != nil && !null(table) {
		p.table(table)
	}
	if common != nil && !null(common) {
		p.words = p.meanings(common, "words")
		for i := 0; i+1 < len(common.Content); i += 2 {
			if key, value := common.Content[i], common.Content[i+1]; !general(value.Value) {
				p.fault(value, "words."+key.Value,
					"got %q, want true, false, or a phase, stage, condition or kind of instrument; words for other fields stand with their column",
					phrase.Clip(value.Value))
			}
		}
	}
	if record == nil || null(record) {
		p.fault(root, "record", "is missing: it says for each field of a record the column or the constant")
		return
	}
	p.record = p.message(record, "record", (*pb.SetupRecord)(nil).ProtoReflect().Descriptor())
	if len(p.faults) == 0 {
		p.check(root)
	}
}

// general reports whether a word can mean this wherever it stands.
func general(meant string) bool {
	if meant == "true" || meant == "false" {
		return true
	}
	for _, e := range []protoreflect.Enum{pb.Phase(0), pb.Stage(0), pb.Condition(0), pb.InstrumentKind(0)} {
		if _, ok := spelling.Of(e.Descriptor()).Number(meant); ok {
			return true
		}
	}
	return false
}

func (p *parser) table(n *yaml.Node) {
	var layoutAt *yaml.Node
	p.each(n, "table", func(key, value *yaml.Node) {
		path := "table." + key.Value
		if null(value) {
			return
		}
		switch key.Value {
		case "rows":
			switch s, _ := p.text(value, path); s {
			case "records":
			case "readings":
				p.perReading = true
			default:
				p.fault(value, path, "got %q, want records (a row is a record) or readings (a row is a reading)", phrase.Clip(s))
			}
		case "key":
			p.key = &column{path: path, line: value.Line, column: value.Column}
			for _, name := range p.texts(value, path) {
				p.key.ids = append(p.key.ids, p.id(name))
			}
			p.columns = append(p.columns, p.key)
		case "separator":
			s, _ := p.text(value, path)
			separator, ok := map[string]byte{",": ',', ";": ';', "\t": '\t', "comma": ',', "semicolon": ';', "tab": '\t'}[s]
			if p.separator = separator; !ok {
				p.fault(value, path, "got %q, want comma, semicolon or tab", phrase.Clip(s))
			}
		case "decimal":
			switch s, _ := p.text(value, path); s {
			case "point", ".":
			case "comma", ",":
				p.comma = true
			default:
				p.fault(value, path, "got %q, want point or comma", phrase.Clip(s))
			}
		case "time_zone":
			s, _ := p.text(value, path)
			zone, err := time.LoadLocation(s)
			if err != nil || s == "" || s == "Local" {
				p.fault(value, path, "got %q, want a time zone such as Europe/Vienna or UTC", phrase.Clip(s))
			}
			p.zone = zone
		case "time_layout":
			layoutAt = value
			p.times = p.layout(value, path)
		case "empty":
			p.empty = make(map[string]bool)
			for _, s := range p.texts(value, path) {
				p.empty[fold(s)] = true
			}
		default:
			p.unknown(key, "table", "rows", "key", "separator", "decimal", "time_zone", "time_layout", "empty")
		}
	})
	if layoutAt != nil && p.zone == nil && !p.times.offset && len(p.faults) == 0 {
		p.fault(layoutAt, "table.time_layout", "has no offset (Z), so that there must be a time_zone beside it")
	}
}

func (p *parser) layout(n *yaml.Node, path string) timeLayout {
	s, ok := p.text(n, path)
	if !ok {
		return timeLayout{}
	}
	l, err := newTimeLayout(s)
	if err != nil {
		p.fault(n, path, "%s", err)
	}
	return l
}

func (p *parser) meanings(n *yaml.Node, path string) words {
	w := make(words)
	p.each(n, path, func(key, value *yaml.Node) {
		if value.Kind != yaml.ScalarNode {
			p.fault(value, join(path, key.Value), "got %s, want what the word means", describe(value))
			return
		}
		meant := value.Value
		if null(value) {
			meant = ""
		}
		w[key.Value], w[fold(key.Value)] = meant, meant
	})
	return w
}

// id gives a column of the table a number.
func (p *parser) id(name string) int {
	name = strings.TrimSpace(name)
	id, ok := p.ids[name]
	if !ok {
		id = len(p.names)
		p.ids[name] = id
		p.names = append(p.names, name)
	}
	return id
}

// isColumn reports whether a node stands for a column and not for itself.
func isColumn(n *yaml.Node) bool {
	if n.Kind != yaml.MappingNode {
		return false
	}
	for i := 0; i < len(n.Content); i += 2 {
		if n.Content[i].Value == "column" {
			return true
		}
	}
	return false
}

func (p *parser) column(n *yaml.Node, path string, desc protoreflect.FieldDescriptor) *column {
	c := &column{path: path, line: n.Line, column: n.Column}
	isTime := desc.Kind() == protoreflect.MessageKind
	p.each(n, path, func(key, value *yaml.Node) {
		at := join(path, key.Value)
		if null(value) && key.Value != "column" {
			return
		}
		switch key.Value {
		case "column":
			c.line, c.column = value.Line, value.Column
			for _, name := range p.texts(value, at) {
				if strings.TrimSpace(name) == "" {
					p.fault(value, at, "is empty; want the name of a column as it stands in the first row")
				}
				c.ids = append(c.ids, p.id(name))
			}
			if len(c.ids) > 1 && !isTime {
				p.fault(value, at, "got %d columns, want one; only a time can be in two: its day and its hour", len(c.ids))
			}
		case "words":
			c.words = p.meanings(value, at)
			for i := 0; i+1 < len(value.Content); i += 2 {
				meant := value.Content[i+1]
				if meant.Value == "" || null(meant) || meant.Kind != yaml.ScalarNode {
					continue
				}
				if _, problem := plainly.read(Text(meant.Value), desc); problem != "" {
					p.fault(meant, join(at, value.Content[i].Value), "%s", problem)
				}
			}
		case "layout":
			if !isTime {
				p.fault(key, at, "only a time has a layout")
				return
			}
			l := p.layout(value, at)
			c.times = &l
			if !l.offset && p.zone == nil && l.layouts != nil {
				p.fault(value, at, "has no offset (Z), so that there must be a table.time_zone")
			}
		case "split":
			if !desc.IsList() {
				p.fault(key, at, "only a list is split")
				return
			}
			if c.split, _ = p.text(value, at); c.split == "" {
				p.fault(value, at, "is empty; want the sign between the entries")
			}
		default:
			p.unknown(key, path, "column", "words", "layout", "split")
		}
	})
	p.columns = append(p.columns, c)
	return c
}

func (p *parser) message(n *yaml.Node, path string, desc protoreflect.MessageDescriptor) *message {
	m := &message{path: path, line: n.Line, desc: desc}
	p.each(n, path, func(key, value *yaml.Node) {
		if key.Value == "only" && desc.FullName() == readingName {
			p.only(m, key, value)
			return
		}
		d := desc.Fields().ByName(protoreflect.Name(key.Value))
		if d == nil {
			d = desc.Fields().ByJSONName(key.Value)
		}
		at := join(path, key.Value)
		if d == nil {
			names := make([]string, desc.Fields().Len())
			for i := range names {
				names[i] = string(desc.Fields().Get(i).Name())
			}
			p.unknown(key, path, names...)
			return
		}
		if null(value) {
			return // not filled in
		}
		for _, other := range m.fields {
			if other.desc == d {
				p.fault(key, at, "is given twice; first on line %d", other.line)
				return
			}
			if o := d.ContainingOneof(); o != nil && !o.IsSynthetic() && other.desc.ContainingOneof() == o {
				p.fault(key, at, "is given beside %s on line %d; only one of them may be", other.desc.Name(), other.line)
				return
			}
		}
		f := &field{path: at, line: value.Line, desc: d}
		if p.content(f, value) {
			m.fields = append(m.fields, f)
			m.varies = m.varies || f.varies()
		}
	})
	return m
}

func (p *parser) only(m *message, key, value *yaml.Node) {
	at := join(m.path, "only")
	if !p.perReading {
		p.fault(key, at, "is for tables in which a row is a reading (table: rows: readings)")
		return
	}
	m.only = make(map[string]bool)
	for _, id := range p.texts(value, at) {
		if !identifier(id) {
			p.fault(value, at, "got %q, want identifiers of characteristics", phrase.Clip(id))
		}
		m.only[id] = true
	}
}

// content reads what stands for a field.
func (p *parser) content(f *field, n *yaml.Node) bool {
	switch {
	case !f.desc.IsList():
		return p.one(f, n)
	case isColumn(n):
		if f.desc.Message() != nil {
			p.fault(n, f.path, "got a column, want a list of entries, whose fields may have columns")
			return false
		}
		f.column = p.column(n, f.path, f.desc)
		return true
	case n.Kind != yaml.SequenceNode:
		p.fault(n, f.path, "got %s, want a list", describe(n))
		return false
	}
	f.entries = make([]*field, 0, len(n.Content))
	for i, item := range n.Content {
		entry := &field{path: fmt.Sprintf("%s[%d]", f.path, i), line: item.Line, desc: f.desc}
		if p.one(entry, item) {
			f.entries = append(f.entries, entry)
		}
	}
	return true
}

// one reads what stands for a field that is no list, or for an entry of a list.
func (p *parser) one(f *field, n *yaml.Node) bool {
	if isColumn(n) && (f.desc.Message() == nil || f.desc.Message().FullName() == timestampName) {
		f.column = p.column(n, f.path, f.desc)
		return true
	}
	if sub := f.desc.Message(); sub != nil && sub.FullName() != timestampName {
		if n.Kind != yaml.MappingNode || isColumn(n) {
			p.fault(n, f.path, "got %s, want fields", describe(n))
			return false
		}
		f.message = p.message(n, f.path, sub)
		return true
	}
	if n.Kind != yaml.ScalarNode || null(n) {
		p.fault(n, f.path, "got %s, want a value, or a column such as {column: NAME}", describe(n))
		return false
	}
	v, problem := plainly.read(Text(n.Value), f.desc)
	if problem != "" {
		p.fault(n, f.path, "%s", problem)
		return false
	}
	f.constant = v
	switch f.desc.Name() {
	case "unit":
		if _, err := quantity.ParseUnit(n.Value); err != nil && n.Value != "" {
			p.fault(n, f.path, "%s", err)
			return false
		}
	case "characteristic":
		if !identifier(n.Value) {
			p.fault(n, f.path, "got %q, want the identifier of a characteristic, such as oil_drain_bolt", phrase.Clip(n.Value))
			return false
		}
	}
	return true
}

var (
	timestampName  = protoreflect.FullName("google.protobuf.Timestamp")
	readingName    = (*pb.Reading)(nil).ProtoReflect().Descriptor().FullName()
	instrumentName = (*pb.Instrument)(nil).ProtoReflect().Descriptor().FullName()
)

// identifier reports whether s has the form of a characteristic's identifier.
func identifier(s string) bool {
	for i, c := range []byte(s) {
		if !(c >= 'a' && c <= 'z' || i > 0 && (c >= '0' && c <= '9' || c == '_')) {
			return false
		}
	}
	return s != "" && len(s) <= 63
}

func join(path, name string) string {
	if path == "" {
		return name
	}
	return path + "." + name
}

func null(n *yaml.Node) bool { return n.Kind == yaml.ScalarNode && n.Tag == "!!null" }

func describe(n *yaml.Node) string {
	switch {
	case n.Kind == yaml.MappingNode && isColumn(n):
		return "a column"
	case n.Kind == yaml.MappingNode:
		return "fields"
	case n.Kind == yaml.SequenceNode:
		return "a list"
	case null(n):
		return "nothing"
	}
	return fmt.Sprintf("%q", phrase.Clip(n.Value))
}

// required are the fields that every record must have.
var required = []string{"unit.vin", "unit.model", "unit.model_year", "unit.market", "phase", "shop", "technician", "finish_time", "readings"}

// check finds what is wrong with the map as a whole.
func (p *parser) check(root *yaml.Node) {
	for _, path := range required {
		m, f := p.record, (*field)(nil)
		for name := range strings.SplitSeq(path, ".") {
			if f = m.field(protoreflect.Name(name)); f == nil {
				break
			}
			m = f.message
		}
		if f == nil {
			p.fault(root, "record."+path, "is missing: give it a constant, or a column such as {column: NAME}")
		}
	}
	at := &yaml.Node{Line: root.Line, Column: root.Column}
	switch {
	case p.perReading && p.key == nil:
		p.fault(at, "table.key", "is missing: it names the columns that the rows of one record have in common")
	case !p.perReading && p.key != nil:
		at.Line, at.Column = p.key.line, p.key.column
		p.fault(at, "table.key", "is for tables in which a row is a reading (rows: readings)")
	}
	readings := p.record.field("readings")
	if readings == nil {
		return
	}
	if len(readings.entries) == 0 {
		at.Line, at.Column = readings.line, 1
		p.fault(at, readings.path, "is empty; want an entry for each result that the table has")
	}
	p.checkReadings(readings.entries)
}

func (p *parser) checkReadings(entries []*field) {
	lines := make(map[string]int) // where what must be there once was
	once := func(at *yaml.Node, path, what string) {
		if first := lines[what]; first > 0 {
			p.fault(at, path, "%s is there twice; first on line %d", what, first)
			return
		}
		lines[what] = at.Line
	}
	for _, entry := range entries {
		m := entry.message
		at := &yaml.Node{Line: entry.line, Column: 1}
		if !slices.ContainsFunc(m.fields, func(f *field) bool { return resultFields[f.desc.Name()] && f.varies() }) {
			p.fault(at, m.path, "has no column for its result: value, pass, choice or text")
		}
		characteristic := m.field("characteristic")
		switch {
		case characteristic == nil:
			p.fault(at, join(m.path, "characteristic"), "is missing")
		case p.perReading && characteristic.column == nil:
			p.fault(at, characteristic.path, "got a constant, want a column: each row says what was read")
		case p.perReading && len(m.only) > 0:
			for _, id := range slices.Sorted(maps.Keys(m.only)) {
				once(at, join(m.path, "only"), id)
			}
		case p.perReading:
			once(at, m.path, "an entry for all other characteristics")
		case characteristic.column != nil:
			p.fault(at, characteristic.path, "got a column, want the identifier of a characteristic: a row has many readings")
		default:
			what := characteristic.constant.String()
			if stage := m.field("stage"); stage != nil && stage.column == nil {
				if s := pb.Stage(stage.constant.Enum()); s == pb.Stage_STAGE_AS_FOUND {
					what += " as found"
				}
			} else if stage != nil {
				continue // known only by its rows
			}
			once(at, m.path, what)
		}
	}
}

// resultFields are what makes a reading one.
var resultFields = map[protoreflect.Name]bool{"value": true, "pass": true, "choice": true, "text": true, "fitted": true}
