package population

import (
	"math"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// measure reads everything as people do who measure.
func (m *maker) measure() {
	r := &m.draft
	for i := range r.entries {
		m.read(&r.entries[i])
	}
}

// read reads one thing.
func (m *maker) read(e *entry) {
	d, r, t := &m.dice, &m.draft, e.t
	switch t.kind {
	case isMeasured:
		e.value = m.measured(e)
	case isFilled:
		if d.chance(r.who.atNominal) && e.f.step.onScale(e.f.aim) {
			e.value = e.f.aim
		} else {
			e.value = m.measured(e)
		}
	case isClicked:
		e.value = m.clicked(e.f)
	case isTurned:
		e.value = m.turned(e)
	case isCounted:
		e.value = e.f.step.at(e.f.aim)
	case isChosen:
		n := 0
		if !t.ruled && d.chance(0.15) {
			n = d.below(len(t.choices))
		}
		e.choice = t.choices[n]
	}
	if (t.kind == isFilled || t.kind == isMeasured && t.moved) && r.plan.phase != pb.Phase_PHASE_SERVICE && d.chance(r.shop.foundShare) {
		e.hasFound, e.found = true, m.asFound(e)
	}
}

// measured reads a value off an instrument: around what the trade aims at, a
// little to one side by sheet, shop and person. Who reads a value out of limits
// sets it again.
func (m *maker) measured(e *entry) float64 {
	d, r, t, f := &m.dice, &m.draft, e.t, e.f
	if t.twin != nil {
		if v, ok := m.alike(e); ok {
			return v
		}
	}
	together := m.together(t)
	habit := float64(0.18*(2*uniform(t.stem)-1)) + r.shop.offset + r.who.offset
	center := f.aim + float64(habit*f.half) + f.bias + float64(f.drift*m.share)
	spread := 0.2 * f.half * r.who.spread * (0.8 + float64(0.4*uniform(t.name)))
	if t.oneSided {
		center = f.aim + f.bias
		spread = 0.25 * f.half
	}
	step := f.step
	if n := r.who.rounding; n > 1 && f.half >= 8*float64(n)*step.value() {
		step = step.coarser(n)
	}
	for range 6 {
		z := float64(0.93*together) + float64(0.37*d.normal())
		x := center + float64(spread*z)
		if t.oneSided {
			x = f.aim + math.Abs(float64(spread*z))
		}
		if v := step.at(x); v >= f.low && v <= f.high {
			return v
		}
		together = d.normal()
	}
	return f.inside(f.aim)
}

// together is how much to one side this machine lies in all that is alike on it.
func (m *maker) together(t *task) float64 {
	var d dice
	d.reseed(t.stem, mix(hash(m.draft.family.id)^uint64(m.draft.unit)^m.config.Seed))
	return d.normal()
}

// alike reads the other side of something that was read before: the same, or a
// step off.
func (m *maker) alike(e *entry) (float64, bool) {
	for i := range m.draft.entries {
		first := &m.draft.entries[i]
		if first.t != e.t.twin || first.f == nil || first.f.unit != e.f.unit {
			continue
		}
		v := first.value
		if step := e.f.step.value(); e.t.kind == isMeasured && 3*step <= e.f.half && m.dice.chance(0.4) {
			v = e.f.step.at(v + step*float64(1-2*m.dice.below(2)))
		}
		return v, v >= e.f.low && v <= e.f.high
	}
	return 0, false
}

// inside gives a value on the scale that is accepted, near x.
func (f *fit) inside(x float64) float64 {
	v := f.step.at(x)
	switch {
	case v > f.high:
		v = f.step.times(math.Floor(f.high / f.step.value()))
	case v < f.low:
		v = f.step.times(math.Ceil(f.low / f.step.value()))
	}
	return v
}

// clicked is a torque. A wrench that clicks is set to the nominal torque, and that
// is what is written; one that shows a torque shows what it came to.
func (m *maker) clicked(f *fit) float64 {
	d := &m.dice
	if f.tool != nil && !f.tool.click {
		if v := f.step.at(f.aim + float64(f.half*0.15*d.normal()) + f.bias); v >= f.low && v <= f.high {
			return v
		}
		return f.inside(f.aim)
	}
	v := f.inside(f.aim)
	if !d.chance(m.draft.who.onClick) {
		off := f.step.at(v + f.step.value()*float64(1-2*d.below(2)))
		if off >= f.low && off <= f.high {
			return off
		}
	}
	return v
}

// turned is the position of an adjuster, counted in quarter or half turns, or
// clicks.
func (m *maker) turned(e *entry) float64 {
	d, f := &m.dice, e.f
	if e.t.twin != nil {
		if v, ok := m.alike(e); ok {
			return v
		}
	}
	if d.chance(0.3 + m.draft.who.atNominal) {
		return f.inside(f.aim)
	}
	return f.inside(f.aim + float64(0.25*f.half*d.normal()))
}

// asFound is how the factory or the last one left it: free play all the way out,
// too much or too little poured in.
func (m *maker) asFound(e *entry) float64 {
	d, f := &m.dice, e.f
	x := f.aim + float64(f.half*d.between(1, 3.5))
	if d.chance(0.25) {
		x = f.aim - float64(f.half*d.between(0.8, 2.5))
	}
	if !math.IsInf(f.greatest, 0) {
		x = math.Min(x, f.greatest)
	}
	if f.lower >= 0 {
		x = math.Max(x, 0)
	}
	return f.step.at(x)
}
