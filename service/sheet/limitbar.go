package sheet

import (
	"math"
	"strings"
)

// reading is a value to be marked in a drawing.
type reading struct {
	value float64
	known bool
	// expanded is the expanded uncertainty (k = 2), nought where it is not known.
	expanded float64
}

func readingOf(v float64) reading { return reading{value: v, known: true} }

// How much of the axis is shown.
const (
	marginShare = 0.35 // of the limits' distance, beyond each limit
	farShare    = 1.5  // likewise, at most
	edgeShare   = 0.15 // beyond a reading
)

// limitBar draws the limits of a quantity as the jaws of a gauge, with its
// nominal value, and its readings between or beside them. An end without a limit
// fades and has an arrow. A reading too far away to be drawn in proportion stands
// at the bar's end behind a break.
//
// It returns nil where there is nothing to draw: no limit, or two that are equal.
func limitBar(s subject, found, left reading, width float64) *Drawing {
	if !s.hasLower() && !s.hasUpper() || s.lower == s.upper {
		return nil
	}
	const (
		height = 7.0
		y      = 2.1 // of the middle of the bar
		half   = 1.2 // half the band's height
		inset  = 2.0 // room for a mark at either end
	)
	d := newDrawing(width, height, barTitle(s, found, left))
	ax := barAxis(s, found, left, inset, width-inset)

	d.line(ax.x0-inset+0.4, y, ax.x1+inset-0.4, y, thinPen, grey)
	var from, to float64 // the band
	if s.hasLower() {
		from = ax.at(s.lower)
	} else {
		fade(d, ax.x0-inset+0.4, y, -1)
		from = ax.x0 + 4
	}
	if s.hasUpper() {
		to = ax.at(s.upper)
	} else {
		fade(d, ax.x1+inset-0.4, y, +1)
		to = ax.x1 - 4
	}
	d.rect(from, y-half, to-from, 2*half, 0, none, tint)
	if s.hasNominal() && s.nominal != s.lower && s.nominal != s.upper {
		x := ax.at(s.nominal)
		d.line(x, y-half-0.7, x, y+half+0.7, pen, black).role = roleNominal
	}
	if s.hasLower() {
		x := ax.at(s.lower)
		d.line(x, y-half-0.8, x, y+half+0.8, heavyPen, black).role = roleLower
	}
	if s.hasUpper() {
		x := ax.at(s.upper)
		d.line(x, y-half-0.8, x, y+half+0.8, heavyPen, black).role = roleUpper
	}
	barLabels(d, s, ax, height-0.4)
	barMark(d, s, ax, y, roleFound, found)
	barMark(d, s, ax, y, roleLeft, left)
	return d
}

// fade draws the band's end where there is no limit, ending at x.
func fade(d *Drawing, x, y, dir float64) {
	const half = 1.2
	at := x - dir*6.0
	for _, piece := range []struct{ gap, length float64 }{{0.5, 1.1}, {0.6, 0.7}, {0.7, 0.4}} {
		at += dir * piece.gap
		lo := at
		at += dir * piece.length
		d.rect(min(lo, at), y-half, piece.length, 2*half, 0, none, tint)
	}
	d.arrow(x, y, dir, 0, 1.7, black)
}

// barAxis chooses the values that the bar spans.
func barAxis(s subject, found, left reading, x0, x1 float64) axis {
	var lo, hi, w float64
	switch {
	case s.hasLower() && s.hasUpper():
		w = s.upper - s.lower
		lo, hi = s.lower-marginShare*w, s.upper+marginShare*w
	case s.hasUpper():
		w = openSpan(s.upper, s.nominal, found, left)
		lo, hi = s.upper-w, s.upper+marginShare*w
	default:
		w = openSpan(s.lower, s.nominal, found, left)
		lo, hi = s.lower-marginShare*w, s.lower+w
	}
	least, most := lo-(farShare-marginShare)*w, hi+(farShare-marginShare)*w
	for _, r := range []reading{found, left} {
		if r.known && r.value >= least && r.value <= most {
			// Not at the very end, where it would seem to be off the scale.
			lo, hi = min(lo, r.value-edgeShare*w), max(hi, r.value+edgeShare*w)
		}
	}
	return axis{lo: lo, hi: hi, x0: x0, x1: x1}
}

// openSpan is how much is shown on the open side of a single limit.
func openSpan(limit, nominal float64, readings ...reading) float64 {
	span := math.Abs(limit) * 0.25
	if !math.IsNaN(nominal) {
		span = max(span, 1.6*math.Abs(nominal-limit))
	}
	for _, r := range readings {
		if r.known {
			span = max(span, min(1.3*math.Abs(r.value-limit), 4*span))
		}
	}
	if span == 0 {
		for _, r := range readings {
			if r.known {
				span = max(span, 1.3*math.Abs(r.value-limit))
			}
		}
	}
	if span == 0 {
		return 1
	}
	return span
}

// barMark marks a reading, with its uncertainty where that is known.
func barMark(d *Drawing, s subject, ax axis, y float64, role string, r reading) {
	if !r.known {
		return
	}
	x := ax.at(r.value)
	if r.value < ax.lo || r.value > ax.hi {
		beyond(d, ax, y, role, r.value, s.contains(r.value))
		return
	}
	if r.expanded > 0 {
		x0, x1 := ax.at(max(r.value-r.expanded, ax.lo)), ax.at(min(r.value+r.expanded, ax.hi))
		d.line(x0, y, x1, y, pen, black)
		if r.value-r.expanded >= ax.lo {
			d.line(x0, y-0.9, x0, y+0.9, pen, black)
		}
		if r.value+r.expanded <= ax.hi {
			d.line(x1, y-0.9, x1, y+0.9, pen, black)
		}
	}
	d.mark(x, y, role, s.contains(r.value))
}

// beyond marks a value that is off the scale: at the end, behind a break.
func beyond(d *Drawing, ax axis, y float64, role string, v float64, inside bool) {
	dir, edge := 1.0, ax.x1
	if v < ax.lo {
		dir, edge = -1, ax.x0
	}
	at := edge - dir*4
	d.line(at-0.5, y+1.6, at+0.5, y-1.6, pen, black)
	d.line(at+0.4, y+1.6, at+1.4, y-1.6, pen, black)
	d.mark(edge-dir*0.6, y, role, inside)
	d.items[len(d.items)-1].role = role + "-beyond"
}

// barLabels writes the limits below the bar, the unit with the last.
func barLabels(d *Drawing, s subject, ax axis, y float64) {
	type label struct {
		x, w float64
		said string
	}
	var labels []label
	place := func(v float64, said string) {
		w := textWidth(said, labelPoints, false)
		x := min(max(ax.at(v)-w/2, 0), d.width-w)
		labels = append(labels, label{x, w, said})
	}
	switch {
	case s.hasLower() && s.hasUpper():
		place(s.lower, bareNumber(s.say(s.lower)))
		place(s.upper, s.say(s.upper))
	case s.hasLower():
		place(s.lower, s.say(s.lower))
	default:
		place(s.upper, s.say(s.upper))
	}
	if len(labels) == 2 {
		const gap = 1.6
		if over := labels[0].x + labels[0].w + gap - labels[1].x; over > 0 {
			labels[0].x = max(labels[0].x-over/2, 0)
			labels[1].x = min(max(labels[1].x+over/2, labels[0].x+labels[0].w+gap), d.width-labels[1].w)
			labels[0].x = min(labels[0].x, labels[1].x-gap-labels[0].w)
		}
	}
	for _, l := range labels {
		d.label(l.x, y, l.said, labelPoints, false, start)
	}
}

// barTitle says the drawing in words.
func barTitle(s subject, found, left reading) string {
	parts := []string{s.c.GetDisplayName() + ": limits " + s.sayRange()}
	if s.hasNominal() {
		parts = append(parts, "nominal "+s.say(s.nominal))
	}
	parts = append(parts, markTitles(s, found, left)...)
	return strings.Join(parts, "; ")
}

func markTitles(s subject, found, left reading) []string {
	var parts []string
	say := func(what string, r reading) {
		if !r.known {
			return
		}
		where := "inside"
		if !s.contains(r.value) {
			where = "outside"
		}
		parts = append(parts, what+" "+s.say(r.value)+", "+where)
	}
	say("as found", found)
	say("as left", left)
	return parts
}
