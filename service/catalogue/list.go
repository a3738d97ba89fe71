package catalogue

import (
	"slices"
)

// Position returns that of the last change applied. A [Catalogue.Watch] from it
// tells of every later one.
func (c *Catalogue) Position() int64 {
	position, _ := c.index.tip()
	return position
}

// SpecIDs returns the identifiers of all specs, sorted. The slice is the
// caller's.
func (c *Catalogue) SpecIDs() []string { return slices.Clone(c.index.ids()) }

// Heads returns the newest revision of each spec, withdrawn or not, by
// identifier: those after one, at most so many. Whoever pages with the last
// identifier of the page before gets each spec once that was there all along.
func (c *Catalogue) Heads(after string, limit int) []*Head {
	ids := c.index.ids()
	from, found := slices.BinarySearch(ids, after)
	if found {
		from++
	}
	ids = ids[from:min(len(ids), from+max(0, limit))]
	heads := make([]*Head, len(ids))
	c.index.mu.RLock()
	defer c.index.mu.RUnlock()
	for i, id := range ids {
		heads[i] = c.index.specs[id].newest()
	}
	return heads
}

// History returns all revisions of a spec, newest first, withdrawn ones too, or a
// *[spec.NotFoundError]. The slice is the caller's.
func (c *Catalogue) History(specID string) ([]*Head, error) {
	s := c.index.spec(specID)
	if s == nil {
		return nil, noSpec(specID, c.index.ids())
	}
	heads := slices.Clone(s.heads)
	slices.Reverse(heads)
	return heads, nil
}
