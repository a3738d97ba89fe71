package specdiff

import (
	"slices"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// appeared says a new characteristic in a sentence.
func (c *comparison) appeared(ch *pb.Characteristic) string {
	d := &change{clauses: []string{"new"}}
	if wanted := c.wanted(ch); ch.GetChoice() != nil {
		d.clauses = append(d.clauses, "right is "+wanted)
	} else if wanted != "" {
		d.clauses = append(d.clauses, wanted)
	}
	if at := phases(ch.GetRequiredIn()); len(at) > 0 {
		d.clauses = append(d.clauses, "required at "+phrase.All(at))
	}
	return d.sentence(ch.GetDisplayName())
}

// vanished says a characteristic that is gone in a sentence.
func (c *comparison) vanished(ch *pb.Characteristic) string {
	d := &change{clauses: []string{"no longer on the sheet"}}
	if wanted := c.wanted(ch); wanted != "" && ch.GetInspection() == nil {
		d.clauses[0] += ", was " + wanted
	}
	return d.sentence(ch.GetDisplayName())
}

// wanted says what a characteristic accepts, as far as a part of a sentence can.
// It is empty where that is too long.
func (c *comparison) wanted(ch *pb.Characteristic) string {
	limits := ""
	if f, ok := figuresOf(ch); ok {
		said := c.sayStated(f.measure(), []float64{f.lower, f.upper})
		limits = sayRange(said[0], said[1])
	}
	switch kind := ch.GetKind().(type) {
	case *pb.Characteristic_Capacity:
		return joined(" of ", limits, inSentence(kind.Capacity.GetFluid()))
	case *pb.Characteristic_Fastener:
		locking := phrase.Locking(kind.Fastener.GetLocking())
		if locking != "" {
			locking = "locked by " + locking
		}
		return joined(", ", limits, kind.Fastener.GetThread(), locking)
	case *pb.Characteristic_Adjuster:
		return joined(" ", limits, counted(kind.Adjuster)+" from "+kind.Adjuster.GetReferencePosition())
	case *pb.Characteristic_Choice:
		return phrase.AnyQuoted(kind.Choice.GetAccepted())
	case *pb.Characteristic_Inspection:
		return inClause(kind.Inspection.GetCriterion())
	}
	return limits
}

// joined joins what is not empty.
func joined(between string, parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(p string) bool { return p == "" }), between)
}
