package spec

import (
	"errors"
	"fmt"
	"maps"
	"slices"

	"buf.build/go/protovalidate"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Lint returns everything that is wrong with a sheet, or nothing: first what is
// against the constraints of its schema, then what contradicts itself, a unit
// of measure or a rule of the trade, in the order of the sheet. Whether its CEL
// expressions compile and its examples get what they expect is not asked here:
// that takes the engine.
//
// It answers for any sheet, however broken, and does not change it.
func Lint(sheet *pb.SpecSheet) []Problem {
	l := &linter{sheet: sheet, seen: make(map[Problem]bool)}
	l.shape("", sheet)
	l.head()
	l.identifiers()
	base := newContent(sheet.GetCharacteristics(), sheet.GetRules())
	known := l.known()
	for i, ch := range sheet.GetCharacteristics() {
		path := fmt.Sprintf("characteristics[%d]", i)
		l.characteristic(path, ch)
		l.references(path, ch, base.place)
	}
	l.order("characteristics", sheet.GetCharacteristics(), "")
	l.optionRelations()
	l.amendments(base, known)
	l.examples()
	return l.problems
}

// linter collects the problems of one sheet.
type linter struct {
	sheet    *pb.SpecSheet
	problems []Problem
	seen     map[Problem]bool
}

// add notes a problem, once however often it is found.
func (l *linter) add(path, format string, args ...any) {
	p := Problem{Path: path, Message: fmt.Sprintf(format, args...)}
	if !l.seen[p] {
		l.seen[p] = true
		l.problems = append(l.problems, p)
	}
}

// shape checks a message against the constraints of its schema. The path is
// that of the message; empty for the sheet.
func (l *linter) shape(path string, m proto.Message) {
	err := protovalidate.Validate(m)
	if err == nil {
		return
	}
	var invalid *protovalidate.ValidationError
	if !errors.As(err, &invalid) {
		l.add(path, "cannot be checked: %v", err)
		return
	}
	for _, violation := range invalid.Violations {
		field := protovalidate.FieldPathString(violation.Proto.GetField())
		l.add(joinPath(path, field), "%s", violation.Proto.GetMessage())
	}
}

func joinPath(path, field string) string {
	if path == "" || field == "" {
		return path + field
	}
	return path + "." + field
}

// known holds the characteristics that the sheet or any amendment on it has.
func (l *linter) known() map[string]int {
	ids := make(map[string]int)
	note := func(list []*pb.Characteristic) {
		for _, ch := range list {
			ids[ch.GetId()] = 0
		}
	}
	note(l.sheet.GetCharacteristics())
	for _, option := range l.sheet.GetOptions() {
		note(option.GetAmendment().GetAdd())
	}
	for _, bulletin := range l.sheet.GetBulletins() {
		note(bulletin.GetAmendment().GetAdd())
	}
	return ids
}

// references checks that the characteristics that ch refers to are among those
// that are there.
func (l *linter) references(path string, ch *pb.Characteristic, there map[string]int) {
	for i, id := range ch.GetPrerequisites() {
		at := fmt.Sprintf("%s.prerequisites[%d]", path, i)
		if id == ch.GetId() {
			l.add(at, "%q is its own prerequisite", id)
		} else if _, ok := there[id]; !ok {
			l.add(at, "got %q, want a characteristic of this sheet%s", id, suggest(id, sortedKeys(there)))
		}
	}
	moves := ch.GetAdjuster().GetMoves()
	if moves == nil {
		return
	}
	at := path + ".adjuster.moves.characteristic"
	switch _, ok := there[moves.GetCharacteristic()]; {
	case moves.GetCharacteristic() == ch.GetId():
		l.add(at, "%q is said to move itself", ch.GetId())
	case !ok:
		l.add(at, "got %q, want a characteristic of this sheet%s", moves.GetCharacteristic(),
			suggest(moves.GetCharacteristic(), sortedKeys(there)))
	default:
		if target := l.find(moves.GetCharacteristic()); target != nil && !numeric(target) {
			l.add(at, "got %q, of kind %s, want something with a measured value", target.GetId(), kindName(target))
		}
	}
}

// find returns a characteristic of the sheet, or of the first amendment that
// adds it, or nil.
func (l *linter) find(id string) *pb.Characteristic {
	lists := [][]*pb.Characteristic{l.sheet.GetCharacteristics()}
	for _, option := range l.sheet.GetOptions() {
		lists = append(lists, option.GetAmendment().GetAdd())
	}
	for _, bulletin := range l.sheet.GetBulletins() {
		lists = append(lists, bulletin.GetAmendment().GetAdd())
	}
	for _, list := range lists {
		for _, ch := range list {
			if ch.GetId() == id {
				return ch
			}
		}
	}
	return nil
}

// order checks that prerequisites do not go in a circle. The suffix of the
// message says under which circumstances.
func (l *linter) order(path string, characteristics []*pb.Characteristic, suffix string) {
	if _, cyclic := inJobOrder(characteristics); cyclic == 0 {
		return
	}
	ids := make([]string, 0, len(characteristics))
	prerequisites := make(map[string][]string, len(characteristics))
	for _, ch := range characteristics {
		ids = append(ids, ch.GetId())
		prerequisites[ch.GetId()] = slices.DeleteFunc(slices.Clone(ch.GetPrerequisites()),
			func(id string) bool { return id == ch.GetId() }) // told already
	}
	circle := cycle(ids, func(id string) []string { return prerequisites[id] })
	if circle == nil {
		return
	}
	for i, ch := range characteristics {
		if ch.GetId() == circle[0] && path == "characteristics" {
			path = fmt.Sprintf("characteristics[%d].prerequisites", i)
			break
		}
	}
	l.add(path, "prerequisites go in a circle: %s%s", inWords(circle, " needs "), suffix)
}

func sortedKeys(m map[string]int) []string { return slices.Sorted(maps.Keys(m)) }

func inWords(ids []string, between string) string {
	var text []byte
	for i, id := range ids {
		if i > 0 {
			text = append(text, between...)
		}
		text = append(text, id...)
	}
	return string(text)
}
