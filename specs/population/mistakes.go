package population

import (
	"math"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// err lets an honest person err, seldom.
func (m *maker) err() { m.mistakes(m.config.Mistakes, 1) }

// neglect lets a careless person err: nothing is made up, but much is left out,
// passed by and done at the wrong time.
func (m *maker) neglect() { m.mistakes(8*math.Max(m.config.Mistakes, 0.5), 3) }

// mistakes makes each mistake with so many times its usual rate, and up to so many
// of one kind.
func (m *maker) mistakes(rate float64, most int) {
	d := &m.dice
	often := func(p float64) int {
		if !d.chance(math.Min(p*rate, 0.6)) {
			return 0
		}
		return 1 + d.below(most)
	}
	for range often(0.020) {
		m.leaveOut()
	}
	for range often(0.018) {
		m.outOfLimits()
	}
	for range often(0.008) {
		m.failed()
	}
	for range often(0.008) {
		m.wrongCondition()
	}
	for range often(0.005) {
		m.jumble()
	}
	if often(0.002) > 0 {
		m.mistypeVIN()
	}
	for range often(0.003) {
		m.sayNothingOfFastener()
	}
	for range often(0.003) {
		m.forgetInstrument()
	}
	if often(0.004) > 0 {
		m.letLapse()
	}
}

// among chooses an entry that is fit for something, or nil.
func (m *maker) among(fit func(e *entry) bool) *entry {
	entries := m.draft.entries
	if len(entries) == 0 {
		return nil
	}
	n := m.dice.below(len(entries))
	for i := range entries {
		if e := &entries[(n+i)%len(entries)]; !e.left && !e.blank && fit(e) {
			return e
		}
	}
	return nil
}

func (m *maker) leaveOut() {
	if e := m.among(func(e *entry) bool { return !e.t.extra }); e != nil {
		e.blank, e.left = true, m.dice.chance(0.6)
		e.hasFound = false
		m.draft.slip(SlipMissingReading)
	}
}

// outOfLimits leaves something as it is though it is out of limits.
func (m *maker) outOfLimits() {
	e := m.among(func(e *entry) bool {
		return (e.t.kind == isMeasured || e.t.kind == isFilled || e.t.kind == isClicked) && !math.IsInf(e.f.upper, 0)
	})
	if e == nil {
		return
	}
	d, f := &m.dice, e.f
	x := f.upper + float64(f.half*d.between(0.05, 0.8)) + f.step.value()
	if !math.IsInf(f.lower, 0) && d.chance(0.4) {
		if low := f.lower - float64(f.half*d.between(0.05, 0.8)) - f.step.value(); low >= 0 || f.lower < 0 {
			x = low
		}
	}
	if v := f.step.at(math.Min(x, f.greatest)); v < f.lower || v > f.upper {
		e.value = v
		m.draft.slip(SlipOutOfLimits)
	}
}

// failed writes down that an inspection did not pass, and hands on the machine all
// the same.
func (m *maker) failed() {
	if e := m.among(func(e *entry) bool { return e.t.kind == isInspected }); e != nil {
		e.failed = true
		m.draft.slip(SlipFailed)
	}
}

func (m *maker) wrongCondition() {
	e := m.among(func(e *entry) bool { return len(e.t.wrong) > 0 })
	if e == nil {
		return
	}
	e.swapped, e.other = true, e.t.wrong[:1]
	m.draft.slip(SlipCondition)
}

// jumble exchanges the times of a reading and of one that ought to come before
// it.
func (m *maker) jumble() {
	e := m.among(func(e *entry) bool { return len(e.t.before) > 0 })
	if e == nil {
		return
	}
	for _, place := range e.t.before {
		for i := range m.draft.entries {
			first := &m.draft.entries[i]
			if first.t.place != place || first.at == e.at || first.left || first.blank {
				continue
			}
			first.at, e.at = e.at, first.at
			first.foundAt, e.foundAt = min(first.foundAt, first.at), min(e.foundAt, e.at)
			m.draft.slip(SlipOrder)
			return
		}
	}
}

// mistypeVIN exchanges two characters of the VIN that differ.
func (m *maker) mistypeVIN() {
	text := []byte(m.draft.vin)
	for i := 3; i+1 < len(text); i++ {
		if j := 3 + (i-3+m.dice.below(9))%5; text[j] != text[j+1] {
			text[j], text[j+1] = text[j+1], text[j]
			break
		}
	}
	if m.dice.chance(0.3) {
		text = text[:len(text)-1]
	}
	m.draft.vin = string(text)
	m.draft.slip(SlipVIN)
}

// letLapse takes an instrument whose calibration was not renewed; that is told when
// the record is written, since it may still hold.
func (m *maker) letLapse() {
	if e := m.among(func(e *entry) bool { return e.f != nil && e.f.tool != nil && e.f.tool.expire != 0 }); e != nil {
		m.draft.lapsed = e.f.tool
	}
}

func (m *maker) sayNothingOfFastener() {
	if e := m.among(func(e *entry) bool { return e.t.fitted != nil && needsSaying(e.t) }); e != nil {
		e.unsaid = true
		m.draft.slip(SlipFastenerUnsaid)
	}
}

// needsSaying reports whether silence on what was fitted is a finding.
func needsSaying(t *task) bool {
	f := t.c.GetFastener()
	switch f.GetLocking() {
	case pb.Locking_LOCKING_UNSPECIFIED, pb.Locking_LOCKING_PREVAILING_TORQUE_NUT, pb.Locking_LOCKING_JAM_NUT:
		return f.GetRenew()
	}
	return true
}

func (m *maker) forgetInstrument() {
	if e := m.among(func(e *entry) bool { return e.t.guarded && e.f != nil && e.f.tool != nil }); e != nil {
		e.alone = true
		m.draft.slip(SlipNoInstrument)
	}
}
