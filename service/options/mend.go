package options

import (
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

const (
	// maxChanges is the most options that a searched mend fits or takes off.
	maxChanges = 4
	// maxMends is how many mends of one reason are given.
	maxMends = 6
	// reasonTrials bounds the sets tried for one reason, and allTrials those for
	// all reasons of a set. A search of one more change that would go beyond
	// either is not begun, so that it is whole or not there.
	reasonTrials, allTrials = 20_000, 200_000
)

// search looks for the sets of options that come of mending one reason after
// the other.
type search struct {
	*graph
	fitted set
	before map[reason]bool // the reasons of what is fitted
	trials int             // sets tried so far

	target     reason // what is to be mended now
	candidates []int  // options that its mends can be about
	found      []set  // what is fitted after each mend
}

// newSearch makes a search for the reasons of a fitted set.
func newSearch(g *graph, fitted set, reasons []reason) *search {
	s := &search{graph: g, fitted: fitted, before: make(map[reason]bool, len(reasons))}
	for _, r := range reasons {
		s.before[r] = true
	}
	return s
}

// mends returns what is fitted after each mend of one of the reasons.
func (s *search) mends(target reason) []set {
	s.target, s.candidates, s.found = target, slices.Collect(s.related(target).all()), nil
	delete(s.before, target)
	defer func() { s.before[target] = true }()
	trials := 0
	for changes := 1; changes <= min(maxChanges, len(s.candidates)); changes++ {
		more := combinations(len(s.candidates), changes)
		if trials += more; trials > reasonTrials || s.trials+more > allTrials {
			break
		}
		s.trials += more
		s.try(s.fitted, 0, changes)
	}
	if len(s.found) == 0 {
		s.takeOff()
	}
	return s.found[:min(len(s.found), maxMends)]
}

// try tries every set that differs from the one given by so many of the
// candidates from a place on, leaving out those that hold a mend found before.
func (s *search) try(next set, from, changes int) {
	if changes == 0 {
		if s.isMinimal(next) && s.noWorse(next, s.before) {
			s.found = append(s.found, next)
		}
		return
	}
	for i := from; i+changes <= len(s.candidates); i++ {
		changed := next
		changed.toggle(s.candidates[i])
		s.try(changed, i+1, changes-1)
	}
}

// isMinimal reports whether no mend found before is a part of this one.
func (s *search) isMinimal(next set) bool {
	changed := difference(s.fitted, next)
	return !slices.ContainsFunc(s.found, func(f set) bool { return difference(s.fitted, f).within(changed) })
}

// takeOff mends by taking off one option of the cause with all that require it,
// and then whatever has a reason that was not there before.
func (s *search) takeOff() {
	for i := range s.target.cause().all() {
		next := s.fitted
		for at := i; at >= 0; at = s.worse(next) {
			for j := range next.all() {
				if s.closure[j].has(at) {
					next.toggle(j)
				}
			}
		}
		if s.isMinimal(next) {
			s.found = append(s.found, next)
		}
	}
	slices.SortStableFunc(s.found, func(a, b set) int {
		return difference(s.fitted, a).size() - difference(s.fitted, b).size()
	})
}

// worse returns an option of a reason that was not there before, or -1.
func (s *search) worse(next set) int {
	for r := range s.reasons(next) {
		if !s.before[r] {
			return r.a
		}
	}
	return -1
}

// noWorse reports whether a set has no reasons but those that were there before.
func (g *graph) noWorse(next set, before map[reason]bool) bool {
	for r := range g.reasons(next) {
		if !before[r] {
			return false
		}
	}
	return true
}

// related holds the options that a mend of the reason can be about: those that
// are fitted, or required by what is, and hang together with the reason by
// requirements and exclusions. Fitting anything else helps nothing.
func (s *search) related(r reason) set {
	within := s.closureOfSet(s.fitted)
	var reached set
	reached.add(r.a)
	reached.add(r.b)
	for {
		next := reached
		for i := range within.all() {
			touching := s.closure[i].union(s.excludes[i])
			if reached.has(i) {
				next = next.union(touching.and(within))
			} else if touching.meets(reached) {
				next.add(i)
			}
		}
		if next == reached {
			return reached
		}
		reached = next
	}
}

// mend writes a mend down.
func (g *graph) mend(fitted, next set) *pb.OptionMend {
	add, remove := next.minus(fitted), fitted.minus(next)
	m := &pb.OptionMend{Add: g.ids(add), Remove: g.ids(remove), Caution: g.cautions(add)}
	switch {
	case add.empty():
		m.Text = phrase.Sentence("Take off %s", g.names(remove))
	case remove.empty():
		m.Text = phrase.Sentence("Fit %s", g.names(add))
	default:
		m.Text = phrase.Sentence("Take off %s, and fit %s", g.names(remove), g.names(add))
	}
	return m
}

// difference holds the options that are in one set only.
func difference(a, b set) set { return a.minus(b).union(b.minus(a)) }

// combinations is the number of ways to choose k of n, or more than
// reasonTrials where it is more.
func combinations(n, k int) int {
	count := 1
	for i := 1; i <= k; i++ {
		if count = count * (n - k + i) / i; count > reasonTrials {
			return reasonTrials + 1
		}
	}
	return count
}
