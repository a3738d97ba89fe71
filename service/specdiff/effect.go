package specdiff

import (
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// effect says what changes do to what is accepted. Effects are combined by |:
// tighter in one thing and looser in another is shifted. The zero effect is
// none.
type effect uint8

const (
	tighter effect = 1 << iota
	looser
	shifted = tighter | looser
)

func (e effect) kind() pb.ChangeKind {
	switch e {
	case tighter:
		return pb.ChangeKind_CHANGE_KIND_TIGHTENED
	case looser:
		return pb.ChangeKind_CHANGE_KIND_LOOSENED
	case shifted:
		return pb.ChangeKind_CHANGE_KIND_SHIFTED
	}
	return pb.ChangeKind_CHANGE_KIND_REWORDED
}

// mirrored is the effect of the change the other way round.
func (e effect) mirrored() effect {
	if e == tighter || e == looser {
		return shifted &^ e
	}
	return e
}

// inclusion gives the effect of what is accepted: whether all that is accepted
// now was before, and whether all that was is now.
func inclusion(nowWasBefore, beforeIsNow bool) effect {
	var e effect
	if !beforeIsNow {
		e |= tighter
	}
	if !nowWasBefore {
		e |= looser
	}
	return e
}

// setChange is how a set differs.
type setChange struct{ added, removed []string }

// changeOf compares two sets by key; both lists keep their order.
func changeOf(before, after []string, key func(string) string) setChange {
	lacks := func(list []string) func(string) bool {
		return func(s string) bool {
			return slices.ContainsFunc(list, func(t string) bool { return key(t) == key(s) })
		}
	}
	return setChange{
		added:   slices.DeleteFunc(slices.Clone(after), lacks(before)),
		removed: slices.DeleteFunc(slices.Clone(before), lacks(after)),
	}
}

func (s setChange) none() bool { return len(s.added)+len(s.removed) == 0 }

// demanded is the effect on what is accepted of a set of things that must all be
// so: the more of them, the tighter.
func (s setChange) demanded() effect { return inclusion(len(s.removed) == 0, len(s.added) == 0) }

// accepted is the effect of a set of things of which one must be so: the more of
// them, the looser.
func (s setChange) accepted() effect { return s.demanded().mirrored() }

func same(s string) string { return s }
