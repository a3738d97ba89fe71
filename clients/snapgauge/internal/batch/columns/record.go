package columns

import (
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

type record = pb.SetupRecord

// form is what the map says of a message, made ready for many rows: what is the
// same in all of them is made once.
type form struct {
	constants proto.Message
	varying   []*field
	results   int // how many of these, which come first, are the result of a reading
}

// prepare makes the forms of all messages.
func (t *Table) prepare() {
	var of func(m *message)
	of = func(m *message) {
		f := &form{}
		constants := newMessage(m.desc)
		for _, field := range m.fields {
			switch {
			case field.varies():
				f.varying = append(f.varying, field)
			case field.entries != nil:
				list := constants.Mutable(field.desc).List()
				for _, entry := range field.entries {
					list.Append(constant(entry))
				}
			default:
				constants.Set(field.desc, constant(field))
			}
			for _, entry := range append(slices.Clone(field.entries), field) {
				if entry.message != nil {
					of(entry.message)
				}
			}
		}
		isResult := func(field *field) bool { return m.desc.FullName() == readingName && resultFields[field.desc.Name()] }
		slices.SortStableFunc(f.varying, func(a, b *field) int { return rank(isResult(a)) - rank(isResult(b)) })
		for f.results < len(f.varying) && isResult(f.varying[f.results]) {
			f.results++
		}
		f.constants = constants.Interface()
		t.forms[m] = f
	}
	of(t.record)
}

func rank(first bool) int {
	if first {
		return 0
	}
	return 1
}

// newMessage makes an empty message of the contract.
func newMessage(desc protoreflect.MessageDescriptor) protoreflect.Message {
	known, err := protoregistry.GlobalTypes.FindMessageByName(desc.FullName())
	if err != nil {
		panic(err) // every message of a record is linked in with it
	}
	return known.New()
}

// constant is the value of what does not vary.
func constant(f *field) protoreflect.Value {
	if f.message == nil {
		return f.constant
	}
	m := newMessage(f.message.desc)
	for _, field := range f.message.fields {
		if field.entries == nil {
			m.Set(field.desc, constant(field))
			continue
		}
		list := m.Mutable(field.desc).List()
		for _, entry := range field.entries {
			list.Append(constant(entry))
		}
	}
	return protoreflect.ValueOfMessage(m)
}

// copyOf returns a message with the constants of a form. What is within them is
// shared with other messages: nobody changes a part of a record.
func (f *form) copyOf() protoreflect.Message {
	if c, ok := f.constants.(*pb.Reading); ok { // by far the most of them
		return (&pb.Reading{
			Characteristic: c.Characteristic, Stage: c.Stage, Result: c.Result, Unit: c.Unit, Instrument: c.Instrument,
			Time: c.Time, Technician: c.Technician, Conditions: c.Conditions, ExpandedUncertainty: c.ExpandedUncertainty,
			Fitted: c.Fitted, Note: c.Note,
		}).ProtoReflect()
	}
	return proto.Clone(f.constants).ProtoReflect()
}

// begin makes a record with the fields that are not collected row by row.
func (t *Table) begin() *record {
	f := t.forms[t.record]
	m := f.copyOf()
	for _, field := range f.varying {
		if !t.perReading || field.desc.Name() != "readings" && field.desc.Name() != "instruments" {
			t.fill(m, field)
		}
	}
	return m.Interface().(*record)
}

// fill sets a field from the row. It reports whether the row has a value for it.
func (t *Table) fill(m protoreflect.Message, f *field) bool {
	switch {
	case f.entries != nil:
		return t.entries(m.Mutable(f.desc).List(), f.entries)
	case f.column != nil && f.desc.IsList():
		return t.list(m, f)
	case f.column != nil:
		v, ok := t.value(f.column, f.desc)
		if ok {
			m.Set(f.desc, v)
		}
		return ok
	}
	sub, ok := t.message(f.message)
	m.Set(f.desc, protoreflect.ValueOfMessage(sub))
	return ok
}

// message makes a message from the row. It reports whether the row has a value
// for any of its fields.
func (t *Table) message(m *message) (made protoreflect.Message, ok bool) {
	f := t.forms[m]
	made = f.copyOf()
	for _, field := range f.varying {
		ok = t.fill(made, field) || ok
	}
	return made, ok
}

// list reads a cell with several values.
func (t *Table) list(m protoreflect.Message, f *field) bool {
	cell, problem := t.cell(f.column)
	if problem != "" {
		t.fault(f.column, problem)
	}
	list := m.Mutable(f.desc).List()
	text := cell.String()
	if meant, ok := f.column.words.get(text); ok && meant == "" {
		return false
	}
	var parts []string
	switch {
	case f.column.split != "":
		parts = strings.Split(text, f.column.split)
	case f.column.words != nil && hasWord(f.column.words, text):
		parts = []string{text} // a word may have blanks in it
	default:
		parts = strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" ,;|\t\r\n", r) })
	}
	for _, part := range parts {
		one := Text(part)
		if one.empty() {
			continue
		}
		v, ok, problem := t.conventions.value(one, f.desc, f.column.words)
		if problem != "" {
			t.fault(f.column, problem)
		}
		if ok {
			list.Append(v)
		}
	}
	return list.Len() > 0
}

func hasWord(w words, text string) bool {
	_, ok := w.get(text)
	return ok
}

// entries adds the entries of a list that the row has.
func (t *Table) entries(list protoreflect.List, entries []*field) bool {
	some := false
	for _, entry := range entries {
		switch {
		case entry.message != nil && entry.message.desc.FullName() == readingName:
			if r := t.reading(entry.message); r != nil {
				list.Append(protoreflect.ValueOfMessage(r.ProtoReflect()))
				some = true
			}
		case entry.message != nil && entry.message.desc.FullName() == instrumentName:
			if i := t.instrument(entry.message); i != nil {
				list.Append(protoreflect.ValueOfMessage(i.ProtoReflect()))
				some = true
			}
		case entry.message != nil:
			if m, ok := t.message(entry.message); ok || !entry.message.varies {
				list.Append(protoreflect.ValueOfMessage(m))
				some = some || ok
			}
		case entry.column != nil:
			if v, ok := t.value(entry.column, entry.desc); ok {
				list.Append(v)
				some = true
			}
		default:
			list.Append(entry.constant)
		}
	}
	return some
}

// reading makes a reading from the row, or returns nil where the row has no
// result for it and says nothing of what was fitted.
func (t *Table) reading(m *message) *pb.Reading {
	f := t.forms[m]
	before := t.faults.count
	var made protoreflect.Message
	// First the result, since most of what may be read is not read in any one job.
	for _, field := range f.varying[:f.results] {
		if field.column == nil {
			if sub, ok := t.message(field.message); ok {
				made = f.begun(made)
				made.Set(field.desc, protoreflect.ValueOfMessage(sub))
			}
		} else if v, ok := t.value(field.column, field.desc); ok {
			made = f.begun(made)
			made.Set(field.desc, v)
		}
	}
	if made == nil || t.faults.count > before {
		return nil
	}
	for _, field := range f.varying[f.results:] {
		t.fill(made, field)
	}
	r := made.Interface().(*pb.Reading)
	if r.GetCharacteristic() == "" {
		t.fault(m.field("characteristic").column, "is empty, but there is a result beside it")
		return nil
	}
	return r
}

func (f *form) begun(made protoreflect.Message) protoreflect.Message {
	if made != nil {
		return made
	}
	return f.copyOf()
}

// instrument makes an instrument from the row, or returns nil where the row names
// none.
func (t *Table) instrument(m *message) *pb.Instrument {
	made, _ := t.message(m)
	i := made.Interface().(*pb.Instrument)
	if i.GetId() == "" {
		return nil
	}
	return i
}
