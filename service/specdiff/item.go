package specdiff

import (
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// item makes what is told of an option, bulletin or rule of which d holds how it
// differs, and nil where it does not. The clauses of d say what an item does that
// has just come.
func item(id, name, noun string, was, is bool, d *change) *pb.ItemChange {
	if d.none() {
		return nil
	}
	change := &pb.ItemChange{Id: id, DisplayName: name, Kind: pb.ChangeKind_CHANGE_KIND_SHIFTED, Fields: d.fields}
	switch {
	case !was:
		change.Kind = pb.ChangeKind_CHANGE_KIND_APPEARED
		d.clauses = append([]string{"new " + noun}, d.clauses...)
	case !is:
		change.Kind = pb.ChangeKind_CHANGE_KIND_VANISHED
		change.Text = phrase.Sentence("%s%s no longer on the sheet", opening(name), noun)
		return change
	}
	change.Text = d.sentence(name)
	return change
}

func (c *comparison) options() []*pb.ItemChange {
	var changes []*pb.ItemChange
	for _, p := range align(c.before.sheet.GetOptions(), c.after.sheet.GetOptions()) {
		b, a := p.before, p.after
		d := &change{}
		c.others(d, "requires", b.GetRequires(), a.GetRequires())
		c.others(d, "excludes", b.GetExcludes(), a.GetExcludes())
		c.amendment(d, b.GetAmendment(), a.GetAmendment())
		legality(d, "off_highway_only", "for off-highway use only", b != nil && a != nil, b.GetOffHighwayOnly(), a.GetOffHighwayOnly())
		legality(d, "emissions_related", "touches emissions or noise", b != nil && a != nil, b.GetEmissionsRelated(), a.GetEmissionsRelated())
		if d.value("display_name", "name", b.GetDisplayName(), a.GetDisplayName()) && b != nil && a != nil {
			d.say(0, "was called %q", b.GetDisplayName())
		}
		texts(d, b != nil && a != nil, func(d *change) {
			d.text("description", "description", b.GetDescription(), a.GetDescription())
			d.text("caution", "caution", b.GetCaution(), a.GetCaution())
			d.aside("source", "source", b.GetSource(), a.GetSource())
		})
		shown := a
		if a == nil {
			shown = b
		}
		if change := item(shown.GetId(), shown.GetDisplayName(), "option", b != nil, a != nil, d); change != nil {
			changes = append(changes, change)
		}
	}
	return changes
}

// legality compares what the law makes of an option.
func legality(d *change, field, label string, both, before, after bool) {
	word := map[bool]string{true: "yes"}
	if !d.value(field, label, word[before], word[after]) || !both {
		return
	}
	if after {
		d.say(0, "%s", label)
	} else {
		d.say(0, "no longer %s", label)
	}
}

// others compares which other options one requires or excludes; verb says which.
func (c *comparison) others(d *change, verb string, before, after []string) {
	s := changeOf(before, after, same)
	if s.none() {
		return
	}
	// The fields are named for the verbs.
	d.field(verb, verb, allNamed(before, c.before.optionName), allNamed(after, c.after.optionName))
	if len(s.added) > 0 {
		d.say(0, "%s %s", verb, allNamed(s.added, c.after.optionName))
	}
	if len(s.removed) > 0 {
		d.say(0, "no longer %s %s", verb, allNamed(s.removed, c.before.optionName))
	}
}

func (c *comparison) bulletins() []*pb.ItemChange {
	var changes []*pb.ItemChange
	for _, p := range align(c.before.sheet.GetBulletins(), c.after.sheet.GetBulletins()) {
		b, a := p.before, p.after
		d := &change{}
		both := b != nil && a != nil
		if was, is := sayTime(b.GetEffectiveTime()), sayTime(a.GetEffectiveTime()); d.value("effective_time", "holds from", was, is) {
			if both {
				d.say(0, "holds from %s, was from %s", is, was)
			} else {
				d.say(0, "holds from %s", is)
			}
		}
		before := len(d.fields)
		coverage(d, b.GetVin(), a.GetVin())
		if was, is := units(b.GetVin()), units(a.GetVin()); len(d.fields) > before || b == nil {
			switch {
			case !both:
				d.say(0, "for %s", is)
			case was == is:
				d.details = append(d.details, "VIN coverage")
			default:
				d.say(0, "for %s, was for %s", is, was)
			}
		}
		c.amendment(d, b.GetAmendment(), a.GetAmendment())
		if d.value("title", "title", b.GetTitle(), a.GetTitle()) && both {
			d.say(0, "was called %q", b.GetTitle())
		}
		texts(d, both, func(d *change) { d.aside("source", "source", b.GetSource(), a.GetSource()) })
		shown := a
		if a == nil {
			shown = b
		}
		if change := item(shown.GetId(), shown.GetTitle(), "bulletin", b != nil, a != nil, d); change != nil {
			changes = append(changes, change)
		}
	}
	return changes
}

// units says which units a bulletin is for.
func units(v *pb.VinCoverage) string {
	from, to := v.GetSerialFrom(), v.GetSerialTo()
	switch {
	case v == nil:
		return "every unit"
	case from != "" && to != "":
		return "serial numbers " + from + " to " + to
	case from != "":
		return "serial numbers from " + from
	case to != "":
		return "serial numbers up to " + to
	}
	return "VINs " + strings.Join(v.GetPatterns(), ", ")
}

// texts notes texts, of which the sentence tells only where the item was there
// before and is still.
func texts(d *change, both bool, note func(d *change)) {
	part := &change{}
	note(part)
	d.fields = append(d.fields, part.fields...)
	if both {
		d.texts, d.quiet = append(d.texts, part.texts...), append(d.quiet, part.quiet...)
	}
}
