package spec

import (
	"fmt"
	"maps"
	"slices"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// content is what amendments change: characteristics and rules. The messages in
// it are shared with the sheet and are replaced, never changed.
type content struct {
	characteristics []*pb.Characteristic // nil where one was removed
	place           map[string]int       // of each characteristic there
	rules           []*pb.Rule           // nil where one was removed
	rulePlace       map[string]int
	removed         map[string]string // characteristic to what took it away
}

func newContent(characteristics []*pb.Characteristic, rules []*pb.Rule) *content {
	c := &content{
		characteristics: slices.Clone(characteristics),
		place:           make(map[string]int, len(characteristics)),
		rules:           slices.Clone(rules),
		rulePlace:       make(map[string]int, len(rules)),
		removed:         make(map[string]string),
	}
	for i, ch := range characteristics {
		c.place[ch.GetId()] = i
	}
	for i, r := range rules {
		c.rulePlace[r.GetId()] = i
	}
	return c
}

func (c *content) clone() *content {
	return &content{
		characteristics: slices.Clone(c.characteristics),
		place:           maps.Clone(c.place),
		rules:           slices.Clone(c.rules),
		rulePlace:       maps.Clone(c.rulePlace),
		removed:         maps.Clone(c.removed),
	}
}

// get returns the characteristic of that identifier, or nil.
func (c *content) get(id string) *pb.Characteristic {
	i, ok := c.place[id]
	if !ok {
		return nil
	}
	return c.characteristics[i]
}

// strictness says what an amendment does about something that is not as it
// supposes: to be changed or taken away and not there, to be added and there.
type strictness int

const (
	strict strictness = iota // that is a problem
	lax                      // that part is passed by
)

// apply makes the changes of a in the name of by: removals, then overrides,
// then additions. Problems have paths relative to the amendment; what has one
// is left out and the rest done.
func (c *content) apply(by string, a *pb.Amendment, s strictness) []Problem {
	var problems []Problem
	problem := func(path, format string, args ...any) {
		if s == strict {
			problems = append(problems, Problem{Path: path, Message: fmt.Sprintf(format, args...)})
		}
	}
	for i, id := range a.GetRemove() {
		place, ok := c.place[id]
		if !ok {
			problem(fmt.Sprintf("remove[%d]", i), "%s", c.absent("remove", id))
			continue
		}
		c.characteristics[place] = nil
		delete(c.place, id)
		c.removed[id] = by
	}
	for i, id := range a.GetRemoveRules() {
		place, ok := c.rulePlace[id]
		if !ok {
			problem(fmt.Sprintf("remove_rules[%d]", i), "got %q, want a rule that is there", id)
			continue
		}
		c.rules[place] = nil
		delete(c.rulePlace, id)
	}
	for i, override := range a.GetOverride() {
		place, ok := c.place[override.GetId()]
		if !ok {
			problem(fmt.Sprintf("override[%d].id", i), "%s", c.absent("change", override.GetId()))
			continue
		}
		c.characteristics[place] = overridden(c.characteristics[place], override)
	}
	for i, added := range a.GetAdd() {
		if _, ok := c.place[added.GetId()]; ok {
			problem(fmt.Sprintf("add[%d].id", i), "got %q, which is there already", added.GetId())
			continue
		}
		c.place[added.GetId()] = len(c.characteristics)
		c.characteristics = append(c.characteristics, added)
		delete(c.removed, added.GetId())
	}
	for i, added := range a.GetAddRules() {
		if _, ok := c.rulePlace[added.GetId()]; ok {
			problem(fmt.Sprintf("add_rules[%d].id", i), "got %q, which is there already", added.GetId())
			continue
		}
		c.rulePlace[added.GetId()] = len(c.rules)
		c.rules = append(c.rules, added)
	}
	return problems
}

// absent says why a characteristic cannot be changed or removed.
func (c *content) absent(what, id string) string {
	if by, ok := c.removed[id]; ok {
		return fmt.Sprintf("cannot %s %q: %q took it away", what, id, by)
	}
	return fmt.Sprintf("cannot %s %q: there is no such characteristic%s", what, id, suggest(id, sortedKeys(c.place)))
}

// left returns what is there, without the gaps.
func (c *content) left() ([]*pb.Characteristic, []*pb.Rule) {
	return slices.DeleteFunc(slices.Clone(c.characteristics), func(ch *pb.Characteristic) bool { return ch == nil }),
		slices.DeleteFunc(slices.Clone(c.rules), func(r *pb.Rule) bool { return r == nil })
}

// overridden returns a copy of base in which each field that is set in override
// has taken the place of that field as a whole. Setting one kind removes
// another. Neither argument is changed.
func overridden(base, override *pb.Characteristic) *pb.Characteristic {
	result := proto.Clone(base).(*pb.Characteristic)
	replaceFields(result, override)
	return result
}

// replaceFields replaces, in target, each top-level field that is set in
// source by a copy of source's.
func replaceFields(target, source proto.Message) {
	t := target.ProtoReflect()
	// Taken from a copy, the values can be handed over without sharing.
	proto.Clone(source).ProtoReflect().Range(func(field protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		t.Set(field, v)
		return true
	})
}
