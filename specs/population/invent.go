package population

import (
	"math"
	"slices"
)

// invent makes readings up: what a person takes for likely, without a look at the
// machine.
func (m *maker) invent() {
	d, r := &m.dice, &m.draft
	r.truth.MadeUp = true
	how := r.who.inventing
	finer := d.chance(how.finer)
	tooFine := false
	for i := range r.entries {
		e := &r.entries[i]
		switch e.t.kind {
		case isMeasured, isFilled:
			tooFine = m.madeUp(e, finer) || tooFine
		default:
			m.read(e)
			e.hasFound = false
		}
	}
	if tooFine {
		r.slip(SlipTooFine)
	}
	m.times()
	switch {
	case d.chance(how.atOnce):
		at := r.stamp(r.start + int64(float64(r.finish-r.start)*d.share()))
		for i := range r.entries {
			r.entries[i].at = at
		}
		r.slip(SlipTimesAtOnce)
	case d.chance(how.jumbled):
		m.jumble()
	}
}

// madeUp makes one value up, and reports whether it is finer than the instrument
// shows.
func (m *maker) madeUp(e *entry, finer bool) bool {
	d, f, how := &m.dice, e.f, m.draft.who.inventing
	at := d.share()
	switch {
	case at < how.nominal:
		e.value = f.inside(f.aim)
		return false
	case at < how.nominal+how.atLimit && !e.t.guarded && !math.IsInf(f.upper, 0):
		// Just what is allowed.
		e.value = f.step.times(math.Floor(float64(f.upper/f.step.value()) + 1e-6))
		if !math.IsInf(f.lower, 0) && d.chance(0.5) {
			e.value = f.step.times(math.Ceil(float64(f.lower/f.step.value()) - 1e-6))
		}
		return false
	}
	step := f.step
	if finer && f.tool != nil {
		step = step.finer()
	}
	width := math.Max(how.narrow*f.half, 1.2*step.value())
	for range 12 {
		n := step.index(f.aim + float64(width*d.normal()))
		if d.chance(how.digitRate) {
			n += toDigit(int(n), step.lastPlaces(), how.digits)
		}
		v := step.times(n)
		if v < f.low || v > f.high {
			continue
		}
		e.value = v
		return !f.step.onScale(v)
	}
	e.value = f.inside(f.aim)
	return false
}

// toDigit gives how many steps it is from n to the nearest that is written with one
// of the digits at the end, a step being so many of the last place. It is nought
// where none is near.
func toDigit(n, places int, digits []int) float64 {
	for off := range 10 {
		for _, sign := range []int{1, -1} {
			m := (n + sign*off) * places
			if slices.Contains(digits, max(m, -m)%10) {
				return float64(sign * off)
			}
		}
	}
	return 0
}
