package catalogue

import (
	"maps"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
)

// recentChanges is how many changes the index holds at least, when there are as
// many, for those who watch; it never holds more than twice as many.
const recentChanges = 1024

// index holds the heads of all revisions as the changes up to one position left
// them. It has one writer at a time; readers take what they need under mu, and
// keep it: all they can reach is immutable.
type index struct {
	mu sync.RWMutex
	// position is that of the last change applied.
	position int64
	// confirmed is when the store was asked that had no change beyond position.
	confirmed time.Time
	specs     map[string]*history
	names     map[string][]string // folded name of a model to the specs that have had it, sorted
	sorted    []string            // ids of all specs, or fewer: see ids
	recent    []store.Change      // the last ones, ending with position
	keep      int                 // how many recent has at least, when there are as many
	moved     chan struct{}       // closed when position rises
}

func newIndex() *index {
	return &index{keep: recentChanges, specs: make(map[string]*history), names: make(map[string][]string), moved: make(chan struct{})}
}

// history is one spec. It is immutable: a change puts another in its place.
type history struct {
	id    string
	heads []*Head // by number: revision n is element n-1
	// Of all revisions, each once: names folded, and their leading words.
	names, leads []string
}

func (s *history) newest() *Head { return s.heads[len(s.heads)-1] }

// head returns a revision, nil when there is none of that number.
func (s *history) head(number int) *Head {
	if s == nil || number < 1 || number > len(s.heads) {
		return nil
	}
	return s.heads[number-1]
}

// published returns the spec, nil for a new one, with one more revision.
func (s *history) published(h *Head) *history {
	if s == nil {
		return (&history{id: h.SpecID, heads: []*Head{h}}).named(h)
	}
	after := *s
	after.heads = slices.Concat(s.heads, []*Head{h})
	if before := s.newest(); h.Model != before.Model || h.Make != before.Make || !slices.Equal(h.ModelAliases, before.ModelAliases) {
		return after.named(h)
	}
	return &after
}

// named adds the names of a revision to those of a spec that nobody else holds
// yet.
func (s *history) named(h *Head) *history {
	s.names, s.leads = slices.Clip(s.names), slices.Clip(s.leads)
	for _, name := range modelNames(h) {
		if key := spec.FoldModel(name); !slices.Contains(s.names, key) {
			s.names = append(s.names, key)
		}
		for _, lead := range spec.LeadingWords(name) {
			if !slices.Contains(s.leads, lead) {
				s.leads = append(s.leads, lead)
			}
		}
	}
	return s
}

// withdrawn returns the spec with one revision withdrawn.
func (s *history) withdrawn(c store.Change) *history {
	after := *s
	after.heads = slices.Clone(s.heads)
	after.heads[c.Revision-1] = s.heads[c.Revision-1].withdrawn(c)
	return &after
}

// check returns why a change cannot be the next one, "" when it can.
func (x *index) check(c store.Change) string {
	s := x.specs[c.SpecID]
	switch {
	case c.Position != x.position+1:
		return "the change before it is missing"
	case c.Kind == store.Published && s == nil && c.Revision != 1,
		c.Kind == store.Published && s != nil && c.Revision != len(s.heads)+1:
		return c.Name() + " is published out of turn"
	case c.Kind == store.Withdrawn && s.head(c.Revision) == nil:
		return c.Name() + " is withdrawn and was not published"
	}
	return ""
}

// apply makes the next change, which passed check. The head is that of the
// revision published, else nil. Nobody is woken: see wake. It costs as much as
// the spec has revisions.
func (x *index) apply(c store.Change, h *Head) {
	before := x.specs[c.SpecID] // only the writer changes it
	var after *history
	switch c.Kind {
	case store.Published:
		after = before.published(h)
	case store.Withdrawn:
		after = before.withdrawn(c)
	default: // of a later release: it is passed on, and changes nothing here
		after = before
	}
	x.mu.Lock()
	defer x.mu.Unlock()
	if after != nil {
		x.specs[c.SpecID] = after
		from := 0
		if before != nil {
			from = len(before.names)
		}
		for _, name := range after.names[from:] {
			ids := x.names[name]
			if i, there := slices.BinarySearch(ids, c.SpecID); !there {
				x.names[name] = slices.Insert(ids, i, c.SpecID)
			}
		}
	}
	if len(x.recent) >= 2*x.keep {
		x.recent = slices.Clone(x.recent[len(x.recent)-x.keep:])
	}
	x.recent = append(x.recent, c)
	x.position = c.Position
}

// wake tells those who wait that position has risen.
func (x *index) wake() {
	x.mu.Lock()
	defer x.mu.Unlock()
	close(x.moved)
	x.moved = make(chan struct{})
}

// confirm notes that the store, asked at a time, had no more changes.
func (x *index) confirm(asked time.Time) {
	x.mu.Lock()
	defer x.mu.Unlock()
	x.confirmed = asked
}

// tip returns the position, and the last change unless there is none.
func (x *index) tip() (position int64, last store.Change) {
	x.mu.RLock()
	defer x.mu.RUnlock()
	if len(x.recent) > 0 {
		last = x.recent[len(x.recent)-1]
	}
	return x.position, last
}

// lastConfirmed returns when the index was last level with the store.
func (x *index) lastConfirmed() time.Time {
	x.mu.RLock()
	defer x.mu.RUnlock()
	return x.confirmed
}

// spec returns a spec, nil when there is none.
func (x *index) spec(id string) *history {
	x.mu.RLock()
	defer x.mu.RUnlock()
	return x.specs[id]
}

// called returns the specs that have had a folded name, by identifier.
func (x *index) called(name string) []*history {
	x.mu.RLock()
	defer x.mu.RUnlock()
	ids := x.names[name]
	if len(ids) == 0 {
		return nil
	}
	specs := make([]*history, len(ids))
	for i, id := range ids {
		specs[i] = x.specs[id]
	}
	return specs
}

// all returns all specs by identifier. It is for what may take as long as there
// are specs.
func (x *index) all() []*history {
	x.mu.RLock()
	specs := slices.Collect(maps.Values(x.specs))
	x.mu.RUnlock()
	slices.SortFunc(specs, func(a, b *history) int { return strings.Compare(a.id, b.id) })
	return specs
}

// ids returns the identifiers of all specs, sorted. The slice is shared. It is
// made anew when there are new specs, since none ever goes.
func (x *index) ids() []string {
	x.mu.RLock()
	sorted, complete := x.sorted, len(x.sorted) == len(x.specs)
	x.mu.RUnlock()
	if complete {
		return sorted
	}
	x.mu.Lock()
	defer x.mu.Unlock()
	if len(x.sorted) != len(x.specs) {
		x.sorted = slices.Sorted(maps.Keys(x.specs))
	}
	return x.sorted
}

// after returns changes beyond a position, at most so many, as far as they are
// held. When they are not, held is false. When there are none, moved is closed
// once there are.
func (x *index) after(position int64, limit int) (changes []store.Change, held bool, moved <-chan struct{}) {
	x.mu.RLock()
	defer x.mu.RUnlock()
	missing := x.position - position
	switch {
	case missing <= 0:
		return nil, true, x.moved
	case missing > int64(len(x.recent)):
		return nil, false, x.moved
	}
	from := len(x.recent) - int(missing)
	return slices.Clone(x.recent[from:min(len(x.recent), from+limit)]), true, x.moved
}
