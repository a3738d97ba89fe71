package sheet

import (
	"math"
	"slices"
)

// Drawing is a picture as a list of strokes, areas and texts in millimetres from
// its upper left corner, x to the right and y down. The renderers draw it at its
// own size; what comes later lies on top.
type Drawing struct {
	width, height float64
	// title says in words what the picture shows, for those who can not see it.
	title string
	items []item
}

// ink is how an item is inked.
type ink int

const (
	none  ink = iota
	black     // the text's colour
	grey      // the one accent
	tint      // a light wash of the accent
	paper     // the ground
)

// item is one thing drawn. Points holds the ends of a line, the corners of a
// polygon, the middle of a circle, the foot of a text.
type item struct {
	shape  shape
	points []point
	stroke ink
	fill   ink
	pen    float64 // mm
	dashed bool

	radius float64 // of a circle

	text   string
	size   float64 // of a text, points
	bold   bool
	anchor anchor

	// role names what the item stands for, where it stands for a value:
	// "lower", "upper", "nominal", "found", "left".
	role string
}

type point struct{ x, y float64 }

type shape int

const (
	lineShape shape = iota
	polygonShape
	circleShape
	textShape
)

type anchor int

const (
	start anchor = iota
	middle
	end
)

// The pens: millimetres that a laser printer draws evenly.
const (
	thinPen  = 0.15
	pen      = 0.3
	heavyPen = 0.6
)

func newDrawing(w, h float64, title string) *Drawing {
	return &Drawing{width: w, height: h, title: title}
}

func (d *Drawing) add(it item) *item {
	d.items = append(d.items, it)
	return &d.items[len(d.items)-1]
}

func (d *Drawing) line(x1, y1, x2, y2, width float64, colour ink) *item {
	return d.add(item{shape: lineShape, points: []point{{x1, y1}, {x2, y2}}, pen: width, stroke: colour})
}

func (d *Drawing) polygon(pts []point, width float64, stroke, fill ink) *item {
	return d.add(item{shape: polygonShape, points: pts, pen: width, stroke: stroke, fill: fill})
}

func (d *Drawing) rect(x, y, w, h, width float64, stroke, fill ink) *item {
	return d.polygon([]point{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}, width, stroke, fill)
}

func (d *Drawing) circle(x, y, r, width float64, stroke, fill ink) *item {
	return d.add(item{shape: circleShape, points: []point{{x, y}}, radius: r, pen: width, stroke: stroke, fill: fill})
}

func (d *Drawing) label(x, y float64, s string, points float64, bold bool, a anchor) *item {
	return d.add(item{shape: textShape, points: []point{{x, y}}, text: s, size: points, bold: bold, anchor: a, fill: black})
}

// hatch draws parallel lines at 45 degrees inside a polygon, which may be
// concave or run along a side twice (even-odd).
func (d *Drawing) hatch(pts []point, spacing, width float64) {
	if len(pts) < 3 {
		return
	}
	// Lines of constant c = x + y.
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range pts {
		lo, hi = min(lo, p.x+p.y), max(hi, p.x+p.y)
	}
	step := spacing * math.Sqrt2
	for c := math.Ceil(lo/step) * step; c < hi; c += step {
		var cuts []float64 // x of the crossings
		for i, a := range pts {
			b := pts[(i+1)%len(pts)]
			ca, cb := a.x+a.y-c, b.x+b.y-c
			if (ca < 0) != (cb < 0) {
				cuts = append(cuts, a.x+(b.x-a.x)*ca/(ca-cb))
			}
		}
		slices.Sort(cuts)
		for i := 0; i+1 < len(cuts); i += 2 {
			if cuts[i+1]-cuts[i] > 0.05 {
				d.line(cuts[i], c-cuts[i], cuts[i+1], c-cuts[i+1], width, black)
			}
		}
	}
}

// arrow draws an arrow's head that points along (dx, dy) with its tip at (x, y).
func (d *Drawing) arrow(x, y, dx, dy, size float64, colour ink) {
	n := math.Hypot(dx, dy)
	dx, dy = dx/n*size, dy/n*size
	d.polygon([]point{{x, y}, {x - dx - dy*0.45, y - dy + dx*0.45}, {x - dx + dy*0.45, y - dy - dx*0.45}}, 0, none, colour)
}

// The text sizes of drawings in points.
const (
	labelPoints = 7
	notePoints  = 6.5
)

// markRadius is the size of a reading's mark.
const markRadius = 1.1

// mark draws a reading: round inside its limits, a triangle outside; open as
// found, filled as left.
func (d *Drawing) mark(x, y float64, role string, inside bool) {
	fill := black
	if role == roleFound {
		fill = paper
	}
	if inside {
		d.circle(x, y, markRadius, pen, black, fill).role = role
		return
	}
	// An upright triangle whose middle of gravity is the point.
	const r = markRadius * 1.45
	d.polygon([]point{{x, y - r}, {x + r*0.92, y + r*0.62}, {x - r*0.92, y + r*0.62}}, pen, black, fill).role = role
}

// The roles of items that stand for a value.
const (
	roleLower   = "lower"
	roleUpper   = "upper"
	roleNominal = "nominal"
	roleFound   = "found"
	roleLeft    = "left"
)

// axis puts values on a line: lo at x0, hi at x1, and everything else in
// proportion.
type axis struct {
	lo, hi float64
	x0, x1 float64
}

func (a axis) at(v float64) float64 { return a.x0 + (v-a.lo)/(a.hi-a.lo)*(a.x1-a.x0) }

// spread moves positions apart, in their order, so that none is nearer to the
// next than gap and all lie from lo to hi where there is room. It moves them no
// further than that takes.
func spread(at []float64, gap, lo, hi float64) []float64 {
	order := make([]int, len(at))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case at[a] < at[b]:
			return -1
		case at[a] > at[b]:
			return 1
		}
		return 0
	})
	out := slices.Clone(at)
	// Down from the top, then up from the bottom.
	floor := lo
	for _, i := range order {
		out[i] = max(out[i], floor)
		floor = out[i] + gap
	}
	ceiling := hi
	for k := len(order) - 1; k >= 0; k-- {
		i := order[k]
		out[i] = min(out[i], ceiling)
		ceiling = out[i] - gap
	}
	return out
}

// scaled is the drawing made larger or smaller, texts and pens too.
func (d *Drawing) scaled(by float64) *Drawing {
	out := &Drawing{width: d.width * by, height: d.height * by, title: d.title, items: slices.Clone(d.items)}
	for i := range out.items {
		it := &out.items[i]
		it.points = slices.Clone(it.points)
		for k, p := range it.points {
			it.points[k] = point{p.x * by, p.y * by}
		}
		it.pen *= by
		it.radius *= by
		it.size *= by
	}
	return out
}
