package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/workshop"
)

// tank is a container made ready to be drawn.
type tank struct {
	subject   subject
	container *workshop.Container
	neck      workshop.Neck
	section   workshop.Polygon // across the machine, at the neck
	lean      float64          // degrees
	safe      float64          // mL; nought where it is not known
	schematic bool             // the shape is not the real one
}

var millilitre = quantity.MustUnit("mL")

// tankOf makes a capacity's container ready. Where the sheet gives no shape but
// a lean and a safe fill, it is a plain box for which the safe fill is right. It
// reports false where there is nothing to draw, or no sense in it.
func tankOf(c *pb.Characteristic, system quantity.System) (*tank, bool) {
	s, ok := subjectOf(c, system)
	fill := c.GetCapacity()
	if !ok || fill == nil || s.unit.Dimension() != millilitre.Dimension() {
		return nil, false
	}
	t := &tank{subject: s, lean: fill.GetStandLeanDeg()}
	if safe, known, err := spec.SafeFill(c); err == nil && known {
		t.safe = t.millilitres(safe)
	}
	shape := fill.GetContainer()
	if shape == nil {
		return t, t.box()
	}
	var err error
	if t.container, t.neck, err = spec.ContainerOf(shape); err != nil {
		return nil, false
	}
	t.section = sectionAt(spec.SectionsOf(shape), shape.GetNeck().GetXMm())
	return t, true
}

func (t *tank) millilitres(v float64) float64 {
	ml, err := t.subject.unit.Convert(v, millilitre)
	if err != nil {
		return 0 // tankOf compared the dimensions
	}
	return ml
}

// sectionAt is the cross-section at x: between two sections each corner runs
// straight. Outside of all it is the nearest.
func sectionAt(sections []workshop.Slice, x float64) workshop.Polygon {
	if x <= sections[0].XMM {
		return sections[0].Outline
	}
	for i := 1; i < len(sections); i++ {
		a, b := sections[i-1], sections[i]
		if x > b.XMM {
			continue
		}
		t := (x - a.XMM) / (b.XMM - a.XMM)
		out := make(workshop.Polygon, len(a.Outline))
		for k := range out {
			p, q := a.Outline[k], b.Outline[k]
			out[k] = workshop.YZ{Y: p.Y + (q.Y-p.Y)*t, Z: p.Z + (q.Z-p.Z)*t}
		}
		return out
	}
	return sections[len(sections)-1].Outline
}

// box makes the tank a plain box whose neck floods, at the stand's lean, at the
// safe fill.
func (t *tank) box() bool {
	if !(t.safe > 0) || !(t.lean > 0) {
		return false
	}
	t.schematic = true
	t.section = workshop.Polygon{{Y: -50, Z: 0}, {Y: 50, Z: 0}, {Y: 50, Z: 80}, {Y: -50, Z: 80}}
	t.neck = workshop.Neck{Lip: workshop.Point{Y: 24, Z: 84}, RadiusMM: 12}
	// Volumes are in proportion to the length.
	unit, err := workshop.NewPrism(t.section, 1)
	if err != nil {
		return false
	}
	flood, err := unit.FloodVolume(t.neck, workshop.Attitude{LeanDeg: t.lean})
	if err != nil || !(flood > 0) {
		return false
	}
	t.container, err = workshop.NewPrism(t.section, t.safe/flood)
	return err == nil
}

// floods is the volume at which the neck floods on the stand, in mL.
func (t *tank) floods() float64 {
	v, err := t.container.FloodVolume(t.neck, workshop.Attitude{LeanDeg: t.lean})
	if err != nil {
		return t.container.Volume()
	}
	return v
}

// fill is a volume whose level is drawn.
type fill struct {
	word string
	ml   float64
	role string
}

// fills lists what is drawn: the nominal and the safe fill, and the readings.
func (t *tank) fills(found, left reading) []fill {
	var out []fill
	if t.subject.hasNominal() {
		out = append(out, fill{"nominal", t.millilitres(t.subject.nominal), roleNominal})
	}
	if t.safe > 0 {
		out = append(out, fill{"safe, at most", t.safe, roleUpper})
	}
	if found.known {
		out = append(out, fill{"as found", t.millilitres(found.value), roleFound})
	}
	if left.known {
		out = append(out, fill{"as left", t.millilitres(left.value), roleLeft})
	}
	return out
}

func (t *tank) say(ml float64) string {
	v, err := millilitre.Convert(ml, t.subject.unit)
	if err != nil {
		return ""
	}
	return t.subject.say(v)
}

// sayAbout says a difference of volumes, no finer than it is known.
func (t *tank) sayAbout(ml float64) string {
	unit := millilitre.In(t.subject.system, ml)
	v, err := millilitre.Convert(ml, unit)
	if err != nil { // In never changes the dimension
		v, unit = ml, millilitre
	}
	return quantity.Format(v, unit, 3)
}

// words says what the drawing shows, and what would run out.
func (t *tank) words(found, left reading) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Level in the tank, upright and leaning %s to the left, seen from behind.", quantity.Format(t.lean, quantity.MustUnit("deg"), 3))
	flood := t.floods()
	for _, f := range t.fills(found, left) {
		if f.role != roleFound && f.role != roleLeft {
			continue
		}
		if t.safe > 0 && f.ml > t.safe*(1+1e-9) {
			fmt.Fprintf(&b, " Of the %s %s, %s are too much (hatched).", t.say(f.ml), f.word, t.sayAbout(f.ml-t.safe))
		}
		if f.ml > flood*(1+1e-9) {
			fmt.Fprintf(&b, " %s stand above the neck's lip and run out.", t.sayAbout(f.ml-flood))
		}
	}
	if t.schematic {
		b.WriteString(" A plain drawing, not the tank's true shape.")
	}
	return b.String()
}

// draw draws the tank upright and on its stand. Readings that are not known are
// not drawn.
func (t *tank) draw(found, left reading, width float64) *Drawing {
	fills := t.fills(found, left)
	title := t.subject.c.GetDisplayName() + ". " + t.words(found, left)
	for _, f := range fills {
		title += " " + phrase.UpperFirst(f.word) + ": " + t.say(f.ml) + "."
	}
	const (
		most   = 33.0 // mm, of the higher pose
		leader = 6.0
		footer = 5.0
		header = 5.0 // for the word above the neck
	)
	words := 0.0
	for _, f := range fills {
		words = max(words, textWidth(f.word+" "+t.say(f.ml), labelPoints, true))
	}
	lane := words + 2*leader
	upright, leaning := t.pose(0), t.pose(t.lean)
	scale := min(
		(width-lane)/2/max(upright.w, leaning.w),
		most/max(upright.h, leaning.h))
	if scale <= 0 {
		return nil
	}
	height := header + max(upright.h, leaning.h)*scale
	// Labels need room of their own.
	height = max(height, float64(len(fills))*labelGap+2)
	d := newDrawing(min(width, 2*max(upright.w, leaning.w)*scale+lane), height+footer, title)
	room := max(upright.w, leaning.w) * scale
	a := t.panel(d, upright, fills, point{0, height}, scale, room, "upright")
	b := t.panel(d, leaning, fills, point{room + lane, height}, scale, room,
		"leaning "+quantity.Format(t.lean, quantity.MustUnit("deg"), 3))

	// The labels stand between the two, apart, with a leader to either.
	at := make([]float64, len(fills))
	for i := range fills {
		at[i] = (a[i].right.y+b[i].left.y)/2 + 0.9
	}
	baseline := spread(at, labelGap, 3.4, height)
	x0, x1 := room+leader, room+lane-leader
	for i, f := range fills {
		bold := f.role == roleFound || f.role == roleLeft
		said := f.word + " " + t.say(f.ml)
		w := textWidth(said, labelPoints, bold)
		middleOf := (x0 + x1) / 2
		y := baseline[i] - 0.9
		d.label(middleOf, baseline[i], said, labelPoints, bold, middle)
		d.line(a[i].right.x, a[i].right.y, room+1.2, a[i].right.y, thinPen, grey)
		d.line(room+1.2, a[i].right.y, x0-0.8, y, thinPen, grey)
		d.line(x0-0.8, y, middleOf-w/2-0.6, y, thinPen, grey)
		d.line(middleOf+w/2+0.6, y, x1+0.8, y, thinPen, grey)
		d.line(x1+0.8, y, room+lane-1.2, b[i].left.y, thinPen, grey)
		d.line(room+lane-1.2, b[i].left.y, b[i].left.x, b[i].left.y, thinPen, grey)
	}
	return d
}

// surface is where a fill's level meets the tank's walls on the paper.
type surface struct{ left, right point }

// pose is the section as it stands: to the right and up, in millimetres of the
// tank from the lower left corner of all there is to draw.
type pose struct {
	at      workshop.Attitude
	outline []point
	lip     [2]point // the ends of the neck's lip
	foot    [2]point // where the neck's walls meet the tank
	left    float64  // of the lower left corner
	bottom  float64
	w, h    float64
}

// pose turns the section as the machine leans to the left, seen from behind.
func (t *tank) pose(lean float64) pose {
	sin, cos := math.Sincos(lean * math.Pi / 180)
	turn := func(y, z float64) point { return point{-(y*cos + z*sin), -y*sin + z*cos} }
	p := pose{at: workshop.Attitude{LeanDeg: lean}}
	for _, c := range t.section {
		p.outline = append(p.outline, turn(c.Y, c.Z))
	}
	lip := t.neck.Lip
	r := max(t.neck.RadiusMM, 4)
	for i, y := range []float64{lip.Y + r, lip.Y - r} {
		p.lip[i] = turn(y, lip.Z)
		foot := t.foot(y)
		p.foot[i] = turn(foot.Y, foot.Z)
	}
	lo, hi := point{math.Inf(1), math.Inf(1)}, point{math.Inf(-1), math.Inf(-1)}
	for _, q := range append(p.lip[:], p.outline...) {
		lo = point{min(lo.x, q.x), min(lo.y, q.y)}
		hi = point{max(hi.x, q.x), max(hi.y, q.y)}
	}
	p.left, p.bottom, p.w, p.h = lo.x, lo.y, hi.x-lo.x, hi.y-lo.y
	return p
}

// foot is where the neck's wall meets the tank: below the lip's end, else where
// the tank is nearest to it. Inside the tank there is no wall.
func (t *tank) foot(y float64) workshop.YZ {
	lip := workshop.YZ{Y: y, Z: t.neck.Lip.Z}
	upright := make([]point, len(t.section))
	for i, c := range t.section {
		upright[i] = point{c.Y, -c.Z}
	}
	if top, ok := topOf(upright, y); ok {
		return workshop.YZ{Y: y, Z: min(-top, lip.Z)}
	}
	nearest, least := lip, math.Inf(1)
	for i, a := range t.section {
		b := t.section[(i+1)%len(t.section)]
		dy, dz := b.Y-a.Y, b.Z-a.Z
		along := ((lip.Y-a.Y)*dy + (lip.Z-a.Z)*dz) / (dy*dy + dz*dz)
		along = min(max(along, 0), 1)
		q := workshop.YZ{Y: a.Y + along*dy, Z: a.Z + along*dz}
		if far := math.Hypot(q.Y-lip.Y, q.Z-lip.Z); far < least {
			nearest, least = q, far
		}
	}
	return nearest
}

// topOf is the smallest y, on paper the highest, at which a polygon is met at x.
func topOf(pts []point, x float64) (y float64, ok bool) {
	y = math.Inf(1)
	for i, a := range pts {
		b := pts[(i+1)%len(pts)]
		if (a.x <= x) != (b.x <= x) {
			y = min(y, a.y+(b.y-a.y)*(x-a.x)/(b.x-a.x))
		}
	}
	return y, !math.IsInf(y, 0)
}

// labelGap is the least distance of two labels' baselines.
const labelGap = 3.3

// panel draws one pose with its lower left corner at a place of the drawing, and
// returns where each fill's surface is.
func (t *tank) panel(d *Drawing, p pose, fills []fill, corner point, scale, room float64, title string) []surface {
	onPaper := func(q point) point {
		return point{corner.x + (q.x-p.left)*scale + (room-p.w*scale)/2, corner.y - (q.y-p.bottom)*scale}
	}
	flat := func(pts []point) []point {
		out := make([]point, len(pts))
		for i, q := range pts {
			out[i] = onPaper(q)
		}
		return out
	}
	level := func(ml float64) float64 {
		h, err := t.container.LevelFor(min(ml, t.container.Volume()), p.at)
		if err != nil {
			return p.bottom
		}
		return h
	}

	// The liquid: as left, else as found, else as it ought to be.
	shown := fills[len(fills)-1]
	if shown.role == roleUpper {
		shown = fills[0]
	}
	d.polygon(flat(below(p.outline, level(shown.ml))), 0, none, tint)
	for _, f := range fills {
		if f.role != roleFound && f.role != roleLeft {
			continue
		}
		// What is too much: above the safe fill's level, where leaning counts.
		if safe := level(t.safe); p.at.LeanDeg > 0 && t.safe > 0 && f.ml > t.safe {
			d.hatch(flat(above(below(p.outline, level(f.ml)), safe)), 1.3, thinPen)
		}
	}

	// The walls, and the neck: its lip as a heavy line, its own walls down to the
	// tank's.
	d.polygon(flat(p.outline), pen, black, none)
	lip := [2]point{onPaper(p.lip[0]), onPaper(p.lip[1])}
	for i := range lip {
		foot := onPaper(p.foot[i])
		d.line(lip[i].x, lip[i].y, foot.x, foot.y, pen, black)
	}
	d.line(lip[0].x, lip[0].y, lip[1].x, lip[1].y, heavyPen, black)
	// The word goes above whatever of the tank is below it.
	x, y := (lip[0].x+lip[1].x)/2, min(lip[0].y, lip[1].y)
	w := textWidth("neck", notePoints, false)/2 + 0.5
	for _, q := range flat(p.outline) {
		if q.x > x-w && q.x < x+w {
			y = min(y, q.y)
		}
	}
	for _, edge := range []float64{x - w, x + w} {
		if top, ok := topOf(flat(p.outline), edge); ok {
			y = min(y, top)
		}
	}
	for _, f := range fills {
		// Not where a leader passes.
		if h := onPaper(point{0, level(f.ml)}).y; h > y-3 && h < y {
			y = h
		}
	}
	d.label(x, y-0.9, "neck", notePoints, false, middle)

	surfaces := make([]surface, len(fills))
	for i, f := range fills {
		h := level(f.ml)
		pieces := cuts(p.outline, h)
		for k, piece := range pieces {
			from, to := onPaper(point{piece[0], h}), onPaper(point{piece[1], h})
			if k == 0 {
				surfaces[i].left = from
			}
			surfaces[i].right = to
			it := d.line(from.x, from.y, to.x, to.y, pen, black)
			it.role = f.role
			switch f.role {
			case roleUpper:
				it.dashed = true
			case roleFound, roleLeft:
				it.pen = heavyPen
			}
		}
		if len(pieces) == 0 {
			surfaces[i] = surface{point{corner.x, onPaper(point{0, h}).y}, point{corner.x + room, onPaper(point{0, h}).y}}
		}
	}
	d.label(corner.x+room/2, corner.y+4.2, title, labelPoints, false, middle)
	return surfaces
}

// below clips a polygon to what lies below a level. Of a concave one the parts
// may be joined along the surface.
func below(pts []point, level float64) []point {
	return clip(pts, func(p point) float64 { return level - p.y })
}

func above(pts []point, level float64) []point {
	return clip(pts, func(p point) float64 { return p.y - level })
}

// clip keeps what has a depth of nought or more (Sutherland-Hodgman).
func clip(pts []point, depth func(point) float64) []point {
	var out []point
	for i, b := range pts {
		a := pts[(i+len(pts)-1)%len(pts)]
		da, db := depth(a), depth(b)
		if (da < 0) != (db < 0) {
			t := da / (da - db)
			out = append(out, point{a.x + (b.x-a.x)*t, a.y + (b.y-a.y)*t})
		}
		if db >= 0 {
			out = append(out, b)
		}
	}
	return out
}

// cuts are the stretches of a level line that lie inside a polygon, from left to
// right. A level at the very top or bottom gives that side.
func cuts(pts []point, level float64) [][2]float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range pts {
		lo, hi = min(lo, p.y), max(hi, p.y)
	}
	eps := (hi - lo) * 1e-9
	level = min(max(level, lo+eps), hi-eps)
	var xs []float64
	for i, a := range pts {
		b := pts[(i+1)%len(pts)]
		if (a.y < level) != (b.y < level) {
			xs = append(xs, a.x+(b.x-a.x)*(level-a.y)/(b.y-a.y))
		}
	}
	slices.Sort(xs)
	var out [][2]float64
	for i := 0; i+1 < len(xs); i += 2 {
		out = append(out, [2]float64{xs[i], xs[i+1]})
	}
	return out
}
