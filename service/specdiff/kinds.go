package specdiff

import (
	"fmt"
	"strings"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/spec"
)

// The functions of this file compare what one kind says besides its limits. They
// take characteristics of any kind: what is of another kind states nothing.

// capacity compares what is filled in and the shape of what it is filled into.
func (c *comparison) capacity(d *change, before, after *pb.Characteristic) {
	b, a := before.GetCapacity(), after.GetCapacity()
	if d.value("capacity.fluid", "fluid", b.GetFluid(), a.GetFluid()) && b != nil && a != nil {
		if spec.FoldWord(b.GetFluid()) == spec.FoldWord(a.GetFluid()) {
			d.texts = append(d.texts, "fluid")
		} else {
			d.say(shifted, "filled with %s, was %s", inSentence(a.GetFluid()), inSentence(b.GetFluid()))
		}
	}
	was, is := sayNumber(b.GetStandLeanDeg(), "degrees"), sayNumber(a.GetStandLeanDeg(), "degrees")
	if d.value("capacity.stand_lean_deg", "lean on the side stand", was, is) && b != nil && a != nil {
		d.say(0, "leans by %s on the side stand, was %s", orNone(is), orNone(was))
	}
	if !proto.Equal(b.GetContainer(), a.GetContainer()) {
		was, is := shape(b.GetContainer()), shape(a.GetContainer())
		if was == is {
			is += ", with other measures"
		}
		d.field("capacity.container", "shape of the tank or case", was, is)
		if b != nil && a != nil {
			d.say(0, "the shape of the tank or case is drawn anew")
		}
	}
}

// shape says what a container looks like, in short.
func shape(c *pb.Container) string {
	if c == nil {
		return ""
	}
	size := numbered(len(c.GetSections()), "section")
	if len(c.GetSections()) == 1 {
		size = fmt.Sprintf("%d corners, %g mm long", len(c.GetSections()[0].GetOutline()), c.GetLengthMm())
	}
	neck := c.GetNeck()
	return fmt.Sprintf("%s, neck of radius %g mm at %g, %g, %g mm, kept free by %g mm",
		size, c.GetNeckRadiusMm(), neck.GetXMm(), neck.GetYMm(), neck.GetZMm(), c.GetMarginMm())
}

// fastener compares what is tightened and how it is locked.
func (c *comparison) fastener(d *change, before, after *pb.Characteristic) {
	b, a := before.GetFastener(), after.GetFastener()
	both := b != nil && a != nil
	if !spec.SameThread(b.GetThread(), a.GetThread()) && d.value("fastener.thread", "thread", b.GetThread(), a.GetThread()) && both {
		d.say(shifted, "thread %s, was %s", a.GetThread(), b.GetThread())
	}
	if spec.FoldWord(b.GetPropertyClass()) != spec.FoldWord(a.GetPropertyClass()) {
		d.field("fastener.property_class", "property class", b.GetPropertyClass(), a.GetPropertyClass())
		if both {
			c.propertyClass(d, b.GetPropertyClass(), a.GetPropertyClass())
		}
	}
	if lockedWas, lockedIs := phrase.Locking(b.GetLocking()), phrase.Locking(a.GetLocking()); d.value("fastener.locking", "locked by", lockedWas, lockedIs) && both {
		switch {
		case lockedWas == "":
			d.say(tighter, "locked by %s now", lockedIs)
		case lockedIs == "":
			d.say(looser, "no longer locked by %s", lockedWas)
		default:
			d.say(shifted, "locked by %s, was by %s", lockedIs, lockedWas)
		}
	}
	if b.GetRenew() != a.GetRenew() {
		d.field("fastener.renew", "new each time", sayYesOf(b, b.GetRenew()), sayYesOf(a, a.GetRenew()))
		if both && a.GetRenew() {
			d.say(tighter, "to be new each time now")
		} else if both {
			d.say(looser, "may be used again now")
		}
	}
	if b.GetLubrication() != a.GetLubrication() {
		was, is := thread(b), thread(a)
		d.field("fastener.lubrication", "state of the thread", was, is)
		if both {
			d.say(shifted, "%s, was %s", is, was)
		}
	}
	if was, is := sayNumber(float64(b.GetPieces()), ""), sayNumber(float64(a.GetPieces()), ""); d.value("fastener.pieces", "pieces", was, is) && both {
		if was == "" || is == "" {
			d.details = append(d.details, "number of pieces")
		} else {
			d.say(shifted, "%s, was %s", numbered(int(a.GetPieces()), "piece"), was)
		}
	}
	driveWas, driveIs := drive(b), drive(a)
	d.value("fastener.drive", "drive", sayDrive(b), sayDrive(a))
	d.value("fastener.drive_size_mm", "size of the drive", sayNumber(b.GetDriveSizeMm(), "mm"), sayNumber(a.GetDriveSizeMm(), "mm"))
	if both && driveWas != driveIs {
		d.say(0, "takes %s, was %s", orNone(driveIs), orNone(driveWas))
	}
}

func (c *comparison) propertyClass(d *change, was, is string) {
	switch {
	case was == "":
		d.say(tighter, "property class %s now", is)
	case is == "":
		d.say(looser, "any property class, was %s", was)
	default:
		d.say(shifted, "property class %s, was %s", is, was)
	}
}

// thread says the state of a fastener's thread.
func thread(f *pb.Fastener) string {
	switch said := phrase.Lubrication(f.GetLubrication()); {
	case f == nil:
		return ""
	case said == "":
		return "thread clean and dry"
	default:
		return said
	}
}

func sayDrive(f *pb.Fastener) string {
	if f.GetDrive() == pb.Drive_DRIVE_UNSPECIFIED {
		return ""
	}
	return phrase.Drive(f.GetDrive())
}

// drive says the tool's grip with its size.
func drive(f *pb.Fastener) string {
	return strings.TrimSpace(sayDrive(f) + " " + sayNumber(f.GetDriveSizeMm(), "mm"))
}

// adjuster compares how positions are counted and what turning moves.
func (c *comparison) adjuster(d *change, before, after *pb.Characteristic) {
	b, a := before.GetAdjuster(), after.GetAdjuster()
	both := b != nil && a != nil
	if d.value("adjuster.reference_position", "counted from", b.GetReferencePosition(), a.GetReferencePosition()) && both {
		if spec.FoldWord(b.GetReferencePosition()) == spec.FoldWord(a.GetReferencePosition()) {
			d.texts = append(d.texts, "reference position")
		} else {
			d.say(shifted, "counted from %s, was from %s", a.GetReferencePosition(), b.GetReferencePosition())
		}
	}
	if was, is := counted(b), counted(a); d.value("adjuster.counted", "counted", was, is) && both {
		d.say(shifted, "counted %s, was %s", is, was)
	}
	if d.value("adjuster.pitch_mm", "thread pitch", sayNumber(b.GetPitchMm(), "mm"), sayNumber(a.GetPitchMm(), "mm")) && both {
		d.details = append(d.details, "thread pitch")
	}
	if b.GetFlushLimit() != a.GetFlushLimit() {
		d.field("adjuster.flush_limit", "flush at nought", sayYesOf(b, b.GetFlushLimit()), sayYesOf(a, a.GetFlushLimit()))
		if both {
			d.details = append(d.details, "flush limit")
		}
	}
	if was, is := c.before.effectOf(b), c.after.effectOf(a); d.value("adjuster.moves", "what it moves", was, is) && both {
		d.details = append(d.details, "what it moves")
	}
}

func counted(a *pb.Adjuster) string {
	switch {
	case a == nil:
		return ""
	case a.GetCounted() == pb.TurnDirection_TURN_DIRECTION_IN:
		return "in"
	}
	return "out"
}

// effectOf says what one step of an adjuster does.
func (s side) effectOf(a *pb.Adjuster) string {
	moves := a.GetMoves()
	if moves == nil {
		return ""
	}
	return fmt.Sprintf("%s by %s each step", s.name(moves.GetCharacteristic()),
		sayNumber(moves.GetPerStep(), s.known[moves.GetCharacteristic()].GetLimits().GetUnit()))
}

func choice(d *change, before, after *pb.Characteristic) {
	b, a := before.GetChoice(), after.GetChoice()
	was, is := b.GetAccepted(), a.GetAccepted()
	spelled := changeOf(was, is, same)
	if spelled.none() {
		return
	}
	d.field("choice.accepted", "accepted", phrase.AnyQuoted(was), phrase.AnyQuoted(is))
	if b == nil || a == nil {
		return
	}
	const few = 4
	switch s := changeOf(was, is, spec.FoldWord); {
	case s.none():
		d.texts = append(d.texts, "accepted words")
	case len(was) <= few && len(is) <= few:
		d.say(s.accepted(), "%s, was %s", phrase.AnyQuoted(is), phrase.AnyQuoted(was))
	case len(s.removed) == 0:
		d.say(s.accepted(), "%s accepted too", phrase.AnyQuoted(s.added))
	case len(s.added) == 0:
		d.say(s.accepted(), "%s no longer accepted", phrase.AnyQuoted(s.removed))
	default:
		d.say(s.accepted(), "%s accepted, no longer %s", phrase.AnyQuoted(s.added), phrase.AnyQuoted(s.removed))
	}
}

func inspection(d *change, before, after *pb.Characteristic) {
	b, a := before.GetInspection(), after.GetInspection()
	if !d.value("inspection.criterion", "criterion", b.GetCriterion(), a.GetCriterion()) || b == nil || a == nil {
		return
	}
	if text := inClause(a.GetCriterion()); text != "" {
		d.say(0, "reworded to %q", text)
	} else {
		d.texts = append(d.texts, "criterion")
	}
}

func identifier(d *change, before, after *pb.Characteristic) {
	b, a := before.GetIdentifier(), after.GetIdentifier()
	if d.value("identifier.pattern", "pattern", b.GetPattern(), a.GetPattern()) && b != nil && a != nil {
		d.say(shifted, "must have the form %s, was %s", a.GetPattern(), b.GetPattern())
	}
}
