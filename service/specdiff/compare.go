package specdiff

import (
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
)

// Compare tells what differs in target against base, in the units that readers
// of the system use. Characteristics stand in the order of the job of the
// target, options, bulletins and rules in the order of its sheet; what vanished
// stands after what it stood after. The message is the caller's.
//
// Comparing the other way round gives the same differences mirrored: what
// appears here vanishes there, what is tightened here is loosened there.
func Compare(base, target *spec.Revision, units quantity.System) *pb.SpecDiff {
	c := &comparison{units: units, before: newSide(base), after: newSide(target)}
	return &pb.SpecDiff{
		Base:            base.Name(),
		Target:          target.Name(),
		BaseDigest:      base.Digest(),
		TargetDigest:    target.Digest(),
		Head:            c.head(),
		Characteristics: c.characteristics(),
		Options:         c.options(),
		Bulletins:       c.bulletins(),
		Rules:           c.rules(),
	}
}

// comparison compares two sheets.
type comparison struct {
	units         quantity.System
	before, after side
}

// side is one of two sheets.
type side struct {
	sheet *pb.SpecSheet
	job   []*pb.Characteristic // in the order of the job, nothing fitted
	guard float64              // guard band as a multiple of the expanded uncertainty
	// known holds, by identifier, each characteristic that the sheet or one of its
	// amendments has.
	known map[string]*pb.Characteristic
}

func newSide(r *spec.Revision) side {
	s := side{sheet: r.Sheet(), job: r.Sheet().GetCharacteristics(), guard: 1, known: make(map[string]*pb.Characteristic)}
	if resolved, err := r.Resolve(nil, nil); err == nil {
		s.job = inOrderOf(resolved.Characteristics, s.job)
	}
	if s.sheet.GuardBandMultiplier != nil {
		s.guard = s.sheet.GetGuardBandMultiplier()
	}
	know := func(list []*pb.Characteristic) {
		for _, ch := range list {
			if _, ok := s.known[ch.GetId()]; !ok {
				s.known[ch.GetId()] = ch
			}
		}
	}
	know(s.sheet.GetCharacteristics())
	for _, o := range s.sheet.GetOptions() {
		know(o.GetAmendment().GetAdd())
	}
	for _, b := range s.sheet.GetBulletins() {
		know(b.GetAmendment().GetAdd())
	}
	return s
}

// inOrderOf puts the characteristics of the sheet into the order of the
// resolved ones. Those are not used themselves: references to what only an
// option adds are taken out of them.
func inOrderOf(ordered, sheet []*pb.Characteristic) []*pb.Characteristic {
	byID := byIdentifier(sheet)
	result := make([]*pb.Characteristic, 0, len(sheet))
	for _, ch := range ordered {
		result = append(result, byID[ch.GetId()])
	}
	return result
}

// name gives the name of a characteristic inside a sentence, that of the target
// if it has one.
func (c *comparison) name(id string) string {
	if _, ok := c.after.known[id]; ok {
		return c.after.name(id)
	}
	return c.before.name(id)
}

// name gives the name of a characteristic inside a sentence.
func (s side) name(id string) string {
	if ch, ok := s.known[id]; ok {
		return inSentence(ch.GetDisplayName())
	}
	return id
}

// optionName gives the name of an option inside a sentence.
func (s side) optionName(id string) string {
	for _, o := range s.sheet.GetOptions() {
		if o.GetId() == id {
			return inSentence(o.GetDisplayName())
		}
	}
	return id
}

// named gives the names of several.
func named(ids []string, name func(id string) string) []string {
	names := make([]string, len(ids))
	for i, id := range ids {
		names[i] = name(id)
	}
	return names
}

// allNamed joins the names of several.
func allNamed(ids []string, name func(id string) string) string { return phrase.All(named(ids, name)) }

// identified is what is matched by its identifier.
type identified interface {
	comparable
	GetId() string
}

func byIdentifier[T identified](list []T) map[string]T {
	m := make(map[string]T, len(list))
	for _, item := range list {
		m[item.GetId()] = item
	}
	return m
}

// pair is one thing before and after, of which one may be nil.
type pair[T identified] struct{ before, after T }

// align pairs the items of two lists by identifier: in the order of the second,
// and those that only the first has after what they follow there.
func align[T identified](before, after []T) []pair[T] {
	var none T
	old, there := byIdentifier(before), byIdentifier(after)
	following := make(map[string][]T) // what vanished, by what it followed
	anchor := ""
	for _, item := range before {
		if there[item.GetId()] != none {
			anchor = item.GetId()
		} else {
			following[anchor] = append(following[anchor], item)
		}
	}
	var pairs []pair[T]
	vanished := func(after string) {
		for _, item := range following[after] {
			pairs = append(pairs, pair[T]{before: item})
		}
	}
	vanished("")
	for _, item := range after {
		pairs = append(pairs, pair[T]{before: old[item.GetId()], after: item})
		vanished(item.GetId())
	}
	return pairs
}
