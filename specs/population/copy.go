package population

// sheaf keeps the last records of one plan in one shop, for whoever copies there.
type sheaf struct {
	kept [4]copied
	n    int
}

// copied is what a record says.
type copied struct {
	index   int64
	unit    int
	entries []entry
	slips   []Slip
}

// keep keeps what was read, where somebody copies.
func (m *maker) keep() {
	r := &m.draft
	if !r.shop.copied || r.truth.MadeUp {
		return
	}
	s := r.shop.kept[r.plan]
	if s == nil {
		s = &sheaf{}
		r.shop.kept[r.plan] = s
	}
	if s.n >= len(s.kept) && r.truth.CopyOf != nil {
		return // a copy does not push out what was measured
	}
	c := &s.kept[s.n%len(s.kept)]
	c.index, c.unit = r.truth.Index, r.unit
	c.entries = append(c.entries[:0], r.entries...)
	c.slips = c.slips[:0]
	for _, s := range r.truth.Slips {
		switch s {
		case SlipMissingReading, SlipOutOfLimits, SlipFailed, SlipFastenerUnsaid: // copied with the rest
			c.slips = append(c.slips, s)
		}
	}
	s.n++
}

// copy takes over what an earlier record of another unit says, and reports whether
// there is one.
func (m *maker) copy() bool {
	d, r := &m.dice, &m.draft
	s := r.shop.kept[r.plan]
	if s == nil || s.n == 0 {
		return false
	}
	c := &s.kept[d.below(min(s.n, len(s.kept)))]
	if c.unit == r.unit {
		return false
	}
	r.entries = append(r.entries[:0], c.entries...)
	source := c.index
	r.truth.CopyOf = &source
	r.truth.Slips = append(r.truth.Slips, c.slips...)
	for i := range r.entries {
		e := &r.entries[i]
		e.swapped, e.alone = false, false
	}
	if d.chance(m.config.WholeCopyShare) {
		return true
	}
	for range 1 + d.below(3) {
		e := m.among(func(e *entry) bool { return e.t.kind == isMeasured })
		if e == nil {
			break
		}
		if v := m.measured(e); v != e.value {
			e.value = v
			r.truth.Changed++
		}
	}
	return true
}
