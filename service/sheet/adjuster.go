package sheet

import (
	"math"
	"strconv"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// adjusterScale draws an adjuster's travel: what its thread or clicks allow as an
// open frame, what is permitted as the band in it, the nominal position, and
// where it stood and stands. Positions are turns or clicks from the reference
// position. It returns nil for what is not an adjuster with limits.
func adjusterScale(c *pb.Characteristic, found, left reading, width float64, system quantity.System) *Drawing {
	s, ok := subjectOf(c, system)
	adj := c.GetAdjuster()
	if !ok || adj == nil || !s.hasLower() && !s.hasUpper() {
		return nil
	}
	const (
		y     = 2.7 // of the middle of the scale
		half  = 1.3
		inset = 3.0
	)
	mechanical := adj.GetMechanicalRange()
	ax, openLow, openHigh := adjusterAxis(s, mechanical, found, left, inset, width-inset)

	d := newDrawing(width, 0, "")
	// The frame of what is possible, open where the adjuster does not stop.
	from, to := ax.x0, ax.x1
	if !openLow {
		from = ax.at(mechanical.GetLower())
		d.line(from, y-half, from, y+half, pen, black)
	} else {
		d.arrow(ax.x0-inset+0.5, y, -1, 0, 1.8, black)
		d.line(ax.x0-inset+1.5, y, ax.x0, y, thinPen, black)
	}
	if !openHigh {
		to = ax.at(mechanical.GetUpper())
		d.line(to, y-half, to, y+half, pen, black)
	} else {
		d.arrow(ax.x1+inset-0.5, y, 1, 0, 1.8, black)
		d.line(ax.x1, y, ax.x1+inset-1.5, y, thinPen, black)
	}
	low, high := ax.at(max(s.lower, ax.lo)), ax.at(min(s.upper, ax.hi))
	d.rect(low, y-half, high-low, 2*half, 0, none, tint)
	d.line(from, y-half, to, y-half, thinPen, black)
	d.line(from, y+half, to, y+half, thinPen, black)
	adjusterTicks(d, s, ax, y+half)

	if s.hasNominal() {
		x := ax.at(s.nominal)
		d.line(x, y-half-0.9, x, y+half+0.9, pen, black).role = roleNominal
	}
	if s.hasLower() {
		d.line(low, y-half-0.7, low, y+half+0.7, heavyPen, black).role = roleLower
	}
	if s.hasUpper() {
		d.line(high, y-half-0.7, high, y+half+0.7, heavyPen, black).role = roleUpper
	}
	for _, m := range []struct {
		role string
		r    reading
	}{{roleFound, found}, {roleLeft, left}} {
		switch {
		case !m.r.known:
		case m.r.value >= ax.lo && m.r.value <= ax.hi:
			d.mark(ax.at(m.r.value), y, m.role, s.contains(m.r.value))
		default:
			beyond(d, ax, y, m.role, m.r.value, s.contains(m.r.value))
		}
	}

	// Where the positions are counted from.
	counted := "clicks"
	if s.unit == turns {
		counted = "turns"
	}
	reference := "0 = " + adj.GetReferencePosition() + ", " + counted + " " + directionWords(adj.GetCounted())
	baseline := y + half + 7.3
	for _, line := range wrapWords(reference, notePoints, width) {
		d.label(0, baseline, line, notePoints, false, start)
		baseline += 3
	}
	d.height = baseline - 2.4
	words := []string{c.GetDisplayName() + ": permitted " + s.sayRange(), reference}
	if s.hasNominal() {
		words = append(words, "nominal "+s.say(s.nominal))
	}
	d.title = strings.Join(append(words, markTitles(s, found, left)...), "; ")
	return d
}

// adjusterAxis chooses the positions that the scale spans, and says which ends
// have no stop.
func adjusterAxis(s subject, mechanical *pb.Interval, found, left reading, x0, x1 float64) (ax axis, openLow, openHigh bool) {
	openLow, openHigh = mechanical == nil || mechanical.Lower == nil, mechanical == nil || mechanical.Upper == nil
	lo, hi := 0.0, 0.0 // the reference position always shows
	include := func(v float64) {
		if !math.IsInf(v, 0) && !math.IsNaN(v) {
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	include(s.lower)
	include(s.upper)
	include(s.nominal)
	if !openLow {
		include(mechanical.GetLower())
	}
	if !openHigh {
		include(mechanical.GetUpper())
	}
	travel := hi - lo
	for _, r := range []reading{found, left} {
		// One beyond belief would squeeze everything else together.
		if r.known && r.value > lo-travel && r.value < hi+travel {
			include(r.value)
		}
	}
	if hi == lo {
		hi = lo + 1
	}
	pad := 0.12 * (hi - lo)
	if openLow {
		lo -= pad
	}
	if openHigh {
		hi += pad
	}
	return axis{lo: lo, hi: hi, x0: x0, x1: x1}, openLow, openHigh
}

// adjusterTicks draws a tick for each turn or click where there is room, and
// numbers as many as can be read.
func adjusterTicks(d *Drawing, s subject, ax axis, y float64) {
	perUnit := (ax.x1 - ax.x0) / (ax.hi - ax.lo)
	fine := 1.0
	if s.unit == turns {
		fine = 0.25
	}
	for fine*perUnit < 0.9 {
		fine = nextStep(fine)
	}
	numbered := 1.0
	for numbered*perUnit < 6 {
		numbered = nextStep(numbered)
	}
	for i := math.Ceil(ax.lo/fine - 1e-9); i*fine <= ax.hi+1e-9; i++ {
		x := ax.at(i * fine)
		d.line(x, y, x, y+0.8, thinPen, black)
	}
	for i := math.Ceil(ax.lo/numbered - 1e-9); i*numbered <= ax.hi+1e-9; i++ {
		v := i * numbered
		x := ax.at(v)
		d.line(x, y, x, y+1.4, pen, black)
		d.label(x, y+4.1, strconv.FormatFloat(v+0, 'f', -1, 64), labelPoints, false, middle)
	}
}

// nextStep goes 0.25, 0.5, 1, 2, 5, 10, 20, 50 and so on.
func nextStep(step float64) float64 {
	if step < 1 {
		return step * 2
	}
	switch power := math.Pow(10, math.Floor(math.Log10(step)+1e-9)); math.Round(step / power) {
	case 1:
		return 2 * power
	case 2:
		return 5 * power
	default:
		return 10 * power
	}
}
