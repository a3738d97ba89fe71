package specdiff

import (
	"fmt"
	"strings"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// amendment compares what an option or bulletin changes, of which one state may
// be nil.
func (c *comparison) amendment(d *change, before, after *pb.Amendment) {
	c.added(d, before, after)
	c.overridden(d, before, after)
	removed(d, "amendment.remove", "takes away", before.GetRemove(), after.GetRemove(), c.before.name, c.after.name)
	for _, p := range align(before.GetAddRules(), after.GetAddRules()) {
		c.addedRule(d, p)
	}
	removed(d, "amendment.remove_rules", "takes away rules", before.GetRemoveRules(), after.GetRemoveRules(), ruleInSentence, ruleInSentence)
}

// added compares the characteristics that an amendment adds.
func (c *comparison) added(d *change, before, after *pb.Amendment) {
	var come, gone []string
	for _, p := range align(before.GetAdd(), after.GetAdd()) {
		switch path := "amendment.add"; {
		case p.before == nil:
			d.field(at(path, p.after.GetId()), "adds", "", c.nameAndWanted(p.after))
			come = append(come, c.name(p.after.GetId()))
		case p.after == nil:
			d.field(at(path, p.before.GetId()), "adds", c.nameAndWanted(p.before), "")
			gone = append(gone, c.name(p.before.GetId()))
		default:
			c.part(d, at(path, p.after.GetId()), p.after.GetId(), c.characteristic(p.before, p.after))
		}
	}
	d.sayMembers("adds", come, gone)
}

// overridden compares the changes that an amendment makes to characteristics.
func (c *comparison) overridden(d *change, before, after *pb.Amendment) {
	var come, gone []string
	for _, p := range align(before.GetOverride(), after.GetOverride()) {
		switch path := "amendment.override"; {
		case p.before == nil:
			id := p.after.GetId()
			part := c.characteristic(nil, c.after.withUnit(p.after))
			d.nest(at(path, id), c.name(id), part)
			wanted := c.wanted(p.after)
			switch {
			case wanted != "" && p.after.GetInspection() != nil:
				come = append(come, fmt.Sprintf("%s (right is that %s)", c.name(id), wanted))
			case wanted != "":
				come = append(come, c.name(id)+" to "+wanted)
			default:
				come = append(come, fmt.Sprintf("%s (%s)", c.name(id), strings.Join(part.told(), "; ")))
			}
		case p.after == nil:
			id := p.before.GetId()
			d.nest(at(path, id), c.name(id), c.characteristic(c.before.withUnit(p.before), nil))
			gone = append(gone, c.name(id))
		default:
			id := p.after.GetId()
			c.part(d, at(path, id), id, c.characteristic(c.before.withUnit(p.before), c.after.withUnit(p.after)))
		}
	}
	d.sayMembers("changes", come, gone)
}

// withUnit gives a change to a characteristic the unit of that, where it has
// figures without limits of its own.
func (s side) withUnit(override *pb.Characteristic) *pb.Characteristic {
	if override.GetLimits() != nil || override.GetCapacity() == nil && override.GetAdjuster() == nil && override.GetPossible() == nil {
		return override
	}
	unit := s.known[override.GetId()].GetLimits().GetUnit()
	if unit == "" {
		return override
	}
	override = proto.Clone(override).(*pb.Characteristic)
	override.Limits = &pb.Limits{Unit: unit}
	return override
}

// removed compares what an amendment takes away.
func removed(d *change, path, label string, before, after []string, nameBefore, nameAfter func(id string) string) {
	s := changeOf(before, after, same)
	if s.none() {
		return
	}
	d.field(path, label, allNamed(before, nameBefore), allNamed(after, nameAfter))
	d.sayMembers(label, named(s.added, nameAfter), named(s.removed, nameBefore))
}

// addedRule compares a rule that an amendment adds.
func (c *comparison) addedRule(d *change, p pair[*pb.Rule]) {
	switch path := "amendment.add_rules"; {
	case p.before == nil:
		d.field(at(path, p.after.GetId()), "adds a rule", "", p.after.GetMessage())
		d.say(0, "adds the rule %q", ruleInSentence(p.after.GetId()))
	case p.after == nil:
		d.field(at(path, p.before.GetId()), "adds a rule", p.before.GetMessage(), "")
		d.say(0, "no longer adds the rule %q", ruleInSentence(p.before.GetId()))
	default:
		id := p.after.GetId()
		if part := rule(p.before, p.after); !part.none() {
			d.nest(at(path, id), ruleInSentence(id), part)
			d.say(0, "rule %q (%s)", ruleInSentence(id), strings.Join(part.told(), "; "))
		}
	}
}

func ruleInSentence(id string) string { return strings.ReplaceAll(id, "_", " ") }

// part notes how a characteristic inside an amendment differs.
func (c *comparison) part(d *change, path, id string, part *change) {
	if part.none() {
		return
	}
	d.nest(path, c.name(id), part)
	d.say(0, "%s (%s)", c.name(id), strings.Join(part.told(), "; "))
}

// nameAndWanted says a characteristic and what it accepts.
func (c *comparison) nameAndWanted(ch *pb.Characteristic) string {
	if wanted := c.wanted(ch); wanted != "" {
		return ch.GetDisplayName() + ": " + wanted
	}
	return ch.GetDisplayName()
}

// sayMembers says what an amendment does to more, or fewer, characteristics or
// rules than before. Many are only counted.
func (c *change) sayMembers(verb string, come, gone []string) {
	const most = 5
	said := func(names []string) string {
		if len(names) > most {
			return phrase.All(append(names[:most:most], fmt.Sprintf("%d more", len(names)-most)))
		}
		return phrase.All(names)
	}
	if len(come) > 0 {
		c.say(0, "%s %s", verb, said(come))
	}
	if len(gone) > 0 {
		c.say(0, "no longer %s %s", verb, said(gone))
	}
}

func at(path, id string) string { return fmt.Sprintf("%s[%s]", path, id) }
