package specdiff

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

func (c *comparison) rules() []*pb.ItemChange {
	var changes []*pb.ItemChange
	for _, p := range align(c.before.sheet.GetRules(), c.after.sheet.GetRules()) {
		d := rule(p.before, p.after)
		shown := p.after
		if shown == nil {
			shown = p.before
		}
		if p.before == nil {
			if message := inClause(p.after.GetMessage()); message != "" {
				d.say(0, "tells that %s", message)
			}
		}
		if change := item(shown.GetId(), ruleName(shown), "rule", p.before != nil, p.after != nil, d); change != nil {
			changes = append(changes, change)
		}
	}
	return changes
}

// ruleName gives a rule's name in words. Rules have no other name than their
// identifier.
func ruleName(r *pb.Rule) string {
	return phrase.UpperFirst(strings.ReplaceAll(r.GetId(), "_", " "))
}

// rule compares two states of a rule, of which one may be nil.
func rule(before, after *pb.Rule) *change {
	d := &change{}
	both := before != nil && after != nil
	if d.value("expression", "condition", before.GetExpression(), after.GetExpression()) && both {
		d.say(shifted, "%s", sayExpressions(before.GetExpression(), after.GetExpression()))
	}
	if !changeOf(phases(before.GetPhases()), phases(after.GetPhases()), same).none() {
		was, is := everyPhase(before), everyPhase(after)
		d.field("phases", "holds at", was, is)
		if both {
			d.say(shifted, "holds at %s, was at %s", is, was)
		}
	}
	if was, is := severityWord(before.GetSeverity()), severityWord(after.GetSeverity()); d.value("severity", "severity", was, is) && both {
		d.say(0, "severity %s, was %s", is, was)
	}
	texts(d, both, func(d *change) {
		d.text("message", "message", before.GetMessage(), after.GetMessage())
		d.text("remedy", "remedy", before.GetRemedy(), after.GetRemedy())
		d.text("caution", "caution", before.GetCaution(), after.GetCaution())
		d.aside("source", "source", before.GetSource(), after.GetSource())
	})
	return d
}

// everyPhase says in which phases a rule holds: without any, in all.
func everyPhase(r *pb.Rule) string {
	switch {
	case r == nil:
		return ""
	case len(r.GetPhases()) == 0:
		return "every phase"
	}
	return phrase.All(phases(r.GetPhases()))
}

var numberInExpression = regexp.MustCompile(`\b\d+(\.\d+)?\b`)

// sayExpressions says how two conditions differ: by their numbers, where they
// differ in nothing else.
func sayExpressions(before, after string) string {
	squeeze := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	frame := func(s string) string { return numberInExpression.ReplaceAllString(squeeze(s), "#") }
	switch {
	case squeeze(before) == squeeze(after):
		return "the condition is written otherwise"
	case frame(before) != frame(after):
		return "the condition is another one"
	}
	was, is := numberInExpression.FindAllString(before, -1), numberInExpression.FindAllString(after, -1)
	var changed []string
	for i := range was {
		if said := fmt.Sprintf("%s in place of %s", is[i], was[i]); was[i] != is[i] && !slices.Contains(changed, said) {
			changed = append(changed, said)
		}
	}
	return phrase.All(changed) + " in the condition"
}
