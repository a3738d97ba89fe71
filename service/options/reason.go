package options

import (
	"cmp"
	"iter"
)

// reason is one reason why a set of options is not consistent, apart from
// options that the sheet does not have.
type reason struct {
	// missing: a requires b, which is not fitted. Otherwise a and b, in sheet
	// order, cannot be fitted together; or a, the same as b, not at all.
	missing bool
	a, b    int
}

// cause is the options that make the reason: a smallest set.
func (r reason) cause() set {
	var s set
	s.add(r.a)
	if !r.missing {
		s.add(r.b)
	}
	return s
}

// compare puts reasons in the order in which they are told: first what cannot be
// fitted together, then what is missing, each in sheet order.
func (r reason) compare(other reason) int {
	if r.missing != other.missing {
		if r.missing {
			return 1
		}
		return -1
	}
	return cmp.Or(cmp.Compare(r.a, other.a), cmp.Compare(r.b, other.b))
}

// reasons tells why a set is not consistent, in order. There are none when and
// only when the set is consistent.
func (g *graph) reasons(fitted set) iter.Seq[reason] {
	return func(yield func(reason) bool) {
		for c := range g.conflicts(fitted) {
			if !g.follows(c, fitted) && !yield(c) {
				return
			}
		}
		for i := range fitted.all() {
			for j := range g.requires[i].minus(fitted).all() {
				if !g.inVain(i, j, fitted) && !yield(reason{missing: true, a: i, b: j}) {
					return
				}
			}
		}
	}
}

// conflicts holds, in order, every smallest set of fitted options that no
// consistent set contains. There are none larger than two: requirements and
// exclusions are each about two options.
func (g *graph) conflicts(fitted set) iter.Seq[reason] {
	return func(yield func(reason) bool) {
		for i := range fitted.all() {
			if g.broken[i] {
				if !yield(reason{a: i, b: i}) {
					return
				}
				continue
			}
			for j := range g.clash[i].and(fitted).all() {
				if j > i && !yield(reason{a: i, b: j}) {
					return
				}
			}
		}
	}
}

// follows reports whether a conflict follows from another one in the fitted set:
// one of options that it requires. Among conflicts that follow from each other,
// as those of options that require each other do, the first is no consequence.
func (g *graph) follows(c reason, fitted set) bool {
	reach := g.closureOfSet(c.cause())
	for other := range g.conflicts(reach.and(fitted)) {
		if other != c && (other.compare(c) < 0 || !c.cause().within(g.closureOfSet(other.cause()))) {
			return true
		}
	}
	return false
}

// inVain reports whether fitting j, which i requires, would only lead into a
// conflict of i that is told.
func (g *graph) inVain(i, j int, fitted set) bool {
	if g.broken[i] {
		return !g.follows(reason{a: i, b: i}, fitted)
	}
	// What j does not go with, i does not go with either.
	for other := range g.clash[j].and(fitted).all() {
		if !g.follows(reason{a: min(i, other), b: max(i, other)}, fitted) {
			return true
		}
	}
	return false
}
