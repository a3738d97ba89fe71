package server

import "sync/atomic"

// Judge holds the catalogue in use. It is safe for concurrent use.
type Judge struct {
	current atomic.Pointer[Catalogue]
}

// NewJudge begins with a catalogue.
func NewJudge(c *Catalogue) *Judge {
	j := &Judge{}
	j.current.Store(c)
	return j
}

// Catalogue returns the catalogue in use. A caller that asks it more than one
// thing keeps it until it is done, so that the answers agree.
func (j *Judge) Catalogue() *Catalogue { return j.current.Load() }

// Exchange puts another catalogue in use. Calls under way finish with the one
// before, which is freed with the last of them.
func (j *Judge) Exchange(c *Catalogue) { j.current.Store(c) }
