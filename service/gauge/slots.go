package gauge

import "sync"

// slots are used again: they are the largest thing that judging a record needs,
// and nothing of them is left in its report.
type slots struct{ all []slot }

var freeSlots = sync.Pool{New: func() any { return new(slots) }}

// holdSlots gives a run so many empty slots, until they are released.
func holdSlots(r *run, n int) *slots {
	held := freeSlots.Get().(*slots)
	if cap(held.all) < n {
		held.all = make([]slot, n)
	}
	r.slots = held.all[:n]
	return held
}

// release empties the slots, so that they keep no record alive, and gives them
// back.
func (held *slots) release(r *run) {
	clear(r.slots)
	r.slots = nil
	freeSlots.Put(held)
}
