package specdiff

import (
	"slices"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// characteristics compares what the sheets specify with nothing fitted.
func (c *comparison) characteristics() []*pb.CharacteristicChange {
	var changes []*pb.CharacteristicChange
	for _, p := range align(c.before.job, c.after.job) {
		if change := c.characteristicChange(p.before, p.after); change != nil {
			changes = append(changes, change)
		}
	}
	return changes
}

// characteristicChange says how a characteristic differs, of which one state may
// be nil. It is nil where nothing does.
func (c *comparison) characteristicChange(before, after *pb.Characteristic) *pb.CharacteristicChange {
	d := c.characteristic(before, after)
	if d.none() {
		return nil
	}
	shown, kind, text := after, d.effect.kind(), ""
	switch {
	case before == nil:
		kind = pb.ChangeKind_CHANGE_KIND_APPEARED
		text = c.appeared(after)
	case after == nil:
		shown, kind = before, pb.ChangeKind_CHANGE_KIND_VANISHED
		text = c.vanished(before)
	default:
		text = d.sentence(after.GetDisplayName())
	}
	return &pb.CharacteristicChange{
		Characteristic: shown.GetId(),
		DisplayName:    shown.GetDisplayName(),
		Group:          shown.GetGroup(),
		Kind:           kind,
		Text:           text,
		Fields:         d.fields,
	}
}

// characteristic compares all of two states of a characteristic, or of two
// changes to one, in which what is not set is left as it is.
func (c *comparison) characteristic(before, after *pb.Characteristic) *change {
	d := &change{}
	was, is := kindName(before), kindName(after)
	if d.value("kind", "kind", was, is) && was != "" && is != "" {
		d.say(shifted, "now %s, was %s", article(is), article(was))
	}
	c.numbers(d, before, after)
	c.capacity(d, before, after)
	c.fastener(d, before, after)
	c.adjuster(d, before, after)
	choice(d, before, after)
	inspection(d, before, after)
	identifier(d, before, after)
	c.guardBand(d, before, after)
	conditions(d, before, after)
	c.prerequisites(d, before, after)
	required(d, before, after)
	severity(d, before, after)
	if was, is := place(before), place(after); d.value("group", "part of the job", was, is) {
		d.say(0, "now under %s, was under %s", orNone(is), orNone(was))
	}
	if d.value("display_name", "name", before.GetDisplayName(), after.GetDisplayName()) {
		d.say(0, "was called %q", before.GetDisplayName())
	}
	d.text("method", "method", before.GetMethod(), after.GetMethod())
	if !changeOf(before.GetTools(), after.GetTools(), same).none() {
		d.detail("tools", "tools", strings.Join(before.GetTools(), "; "), strings.Join(after.GetTools(), "; "))
	}
	d.text("remedy", "remedy", before.GetRemedy(), after.GetRemedy())
	d.text("caution", "caution", before.GetCaution(), after.GetCaution())
	if !changeOf(before.GetSearchWords(), after.GetSearchWords(), same).none() {
		d.aside("search_words", "search words", strings.Join(before.GetSearchWords(), ", "), strings.Join(after.GetSearchWords(), ", "))
	}
	d.aside("source", "source", before.GetSource(), after.GetSource())
	return d
}

// place says which part of the job a characteristic belongs to, empty where that
// is not set.
func place(ch *pb.Characteristic) string {
	if ch.GetGroup() == pb.Group_GROUP_UNSPECIFIED {
		return ""
	}
	return phrase.Place(ch.GetGroup())
}

// kindName is the kind of a characteristic in words, empty where none is set.
func kindName(ch *pb.Characteristic) string {
	switch ch.GetKind().(type) {
	case *pb.Characteristic_Measured:
		return "measured quantity"
	case *pb.Characteristic_Capacity:
		return "fill"
	case *pb.Characteristic_Fastener:
		return "fastener"
	case *pb.Characteristic_Adjuster:
		return "adjuster"
	case *pb.Characteristic_Count:
		return "count"
	case *pb.Characteristic_Choice:
		return "choice"
	case *pb.Characteristic_Inspection:
		return "inspection"
	case *pb.Characteristic_Identifier:
		return "identifier"
	}
	return ""
}

func article(noun string) string {
	if strings.ContainsAny(noun[:1], "aeiou") {
		return "an " + noun
	}
	return "a " + noun
}

// guardBand compares how uncertainty enters the decision.
func (c *comparison) guardBand(d *change, before, after *pb.Characteristic) {
	was, is := guarded(before), guarded(after)
	rule := func(ch *pb.Characteristic) string {
		switch {
		case ch == nil:
			return ""
		case guarded(ch):
			return "guarded acceptance"
		}
		return "simple acceptance"
	}
	switch {
	case was != is:
		d.field("decision_rule", "decision rule", rule(before), rule(after))
		if is {
			d.say(0, "accepted only inside the limits by a guard band now")
		} else {
			d.say(0, "accepted right up to the limits now, without a guard band")
		}
	case is && c.before.guard != c.after.guard && !d.none():
		d.say(0, "its guard band is another one, see the head of the sheet")
	}
}

// conditions compares under which conditions it is to be read.
func conditions(d *change, before, after *pb.Characteristic) {
	words := func(list []pb.Condition) []string {
		list = slices.Sorted(slices.Values(list))
		said := make([]string, len(list))
		for i, condition := range list {
			said[i] = phrase.Condition(condition)
		}
		return said
	}
	was, is := words(before.GetReferenceConditions()), words(after.GetReferenceConditions())
	s := changeOf(was, is, same)
	if s.none() {
		return
	}
	d.field("reference_conditions", "reference conditions", phrase.All(was), phrase.All(is))
	switch {
	case len(s.removed) == 0:
		d.say(s.demanded(), "to be read with %s%s", phrase.All(s.added), too(was))
	case len(s.added) == 0:
		d.say(s.demanded(), "need not be read with %s any more", phrase.All(s.removed))
	default:
		d.say(s.demanded(), "to be read with %s, was with %s", phrase.All(s.added), phrase.All(s.removed))
	}
}

// prerequisites compares what must be read earlier.
func (c *comparison) prerequisites(d *change, before, after *pb.Characteristic) {
	was, is := before.GetPrerequisites(), after.GetPrerequisites()
	s := changeOf(was, is, same)
	if s.none() {
		return
	}
	d.field("prerequisites", "comes after", allNamed(was, c.before.name), allNamed(is, c.after.name))
	added, removed := allNamed(s.added, c.after.name), allNamed(s.removed, c.before.name)
	switch {
	case removed == "":
		d.say(s.demanded(), "comes after %s%s", added, too(was))
	case added == "":
		d.say(s.demanded(), "need not wait for %s any more", removed)
	default:
		d.say(s.demanded(), "comes after %s, no longer after %s", added, removed)
	}
}

// required compares in which phases a reading is required.
func required(d *change, before, after *pb.Characteristic) {
	was, is := phases(before.GetRequiredIn()), phases(after.GetRequiredIn())
	s := changeOf(was, is, same)
	if s.none() {
		return
	}
	d.field("required_in", "required at", phrase.All(was), phrase.All(is))
	switch {
	case len(s.removed) == 0:
		d.say(s.demanded(), "required at %s%s", phrase.All(s.added), too(was))
	case len(s.added) == 0:
		d.say(s.demanded(), "no longer required at %s", phrase.Any(s.removed))
	default:
		d.say(s.demanded(), "required at %s, no longer at %s", phrase.All(s.added), phrase.Any(s.removed))
	}
}

// phases says phases in their order.
func phases(list []pb.Phase) []string {
	list = slices.Sorted(slices.Values(list))
	said := make([]string, len(list))
	for i, p := range list {
		said[i] = phrase.Phase(p)
	}
	return said
}

// too ends a demand that comes to others.
func too(others []string) string {
	if len(others) > 0 {
		return " as well"
	}
	return " now"
}

func severity(d *change, before, after *pb.Characteristic) {
	was, is := severityWord(before.GetSeverity()), severityWord(after.GetSeverity())
	if d.value("severity", "severity", was, is) {
		d.say(0, "severity %s, was %s", orNone(is), orNone(was))
	}
}

func severityWord(s pb.Severity) string {
	if s == pb.Severity_SEVERITY_UNSPECIFIED {
		return ""
	}
	return phrase.Words(s)
}

func orNone(word string) string {
	if word == "" {
		return "not stated"
	}
	return word
}
