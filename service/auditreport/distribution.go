package auditreport

import (
	"html/template"
	"math"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// limits are those of one characteristic in the reader's unit. What there is
// not, is NaN.
type limits struct {
	lower, upper, nominal float64
	digits                int
	words                 string // "3 to 5 mm"; empty where there is none
}

func limitsOf(r reading, d *pb.AuditDistribution) limits {
	value := func(v *float64) float64 {
		if v == nil || !finite(*v) {
			return math.NaN()
		}
		return *v
	}
	if d == nil {
		return limits{lower: math.NaN(), upper: math.NaN(), nominal: math.NaN(), digits: r.digits()}
	}
	return limits{
		digits: r.digits(),
		lower:  r.at(value(d.Lower)), upper: r.at(value(d.Upper)), nominal: r.at(value(d.Nominal)),
		words: r.limits(value(d.Lower), value(d.Upper)),
	}
}

// values are a set of values in the reader's unit.
type values struct {
	count, outside  int64
	mean, deviation float64
	least, greatest float64
	from, to        float64 // of the histogram
	cells           []int64
	// How many values are in the cells, and below and above them.
	shown, below, above int64
}

func valuesOf(r reading, v *pb.AuditValues) values {
	out := values{
		count: v.GetCount(), outside: v.GetOutsideCount(),
		mean: r.at(v.GetMean()), deviation: r.difference(v.GetStandardDeviation()),
		least: r.at(v.GetMinimum()), greatest: r.at(v.GetMaximum()),
		from: r.at(v.GetHistogramLower()), to: r.at(v.GetHistogramUpper()),
		below: v.GetBelowCount(), above: v.GetAboveCount(),
	}
	for _, n := range v.GetHistogram() {
		out.shown += n
	}
	if out.to > out.from && finite(out.to-out.from) && out.shown > 0 {
		out.cells = v.GetHistogram()
	}
	return out
}

// density is the height of a cell such that the area of the whole histogram,
// with what lies beyond it, is one.
func (v values) density(i int) float64 {
	return float64(v.cells[i]) / float64(v.shown+v.below+v.above) / v.width()
}

func (v values) width() float64 { return (v.to - v.from) / float64(len(v.cells)) }

func (b *builder) limitSet(name string, r reading, d *pb.AuditDistribution) limitSet {
	l := limitsOf(r, d)
	left, found := valuesOf(r, d.GetAsLeft()), valuesOf(r, d.GetAsFound())
	out := limitSet{Limits: "No limits"}
	switch {
	case finite(l.lower) && finite(l.upper):
		out.Limits = "Limits " + l.words
	case l.words != "":
		out.Limits = "Limit " + l.words
	}
	if left.count > 0 {
		out.Left = "as left, " + counted(left.count, "reading")
	}
	if found.count > 0 {
		out.Found = "as found, " + counted(found.count, "reading")
	}
	out.Figures = b.valuesTable(name, r, l, left, found, d.GetCapability())
	// A single bar says less than the words below it.
	if left.count > 0 && left.least == left.greatest && found.count == 0 {
		if out.Left = "as left, " + counted(left.count, "reading") + ", all " + r.say(left.least); left.count == 1 {
			out.Left = "as left, one reading: " + r.say(left.least)
		}
	} else if left.count > 0 || found.count > 0 {
		out.Drawing = histogram(l, left, found)
	}
	return out
}

// valuesTable has a line for each statistic, and a column for readings as left
// and as found.
func (b *builder) valuesTable(name string, r reading, l limits, left, found values, capability *pb.AuditCapability) table {
	t := table{ID: b.tableID(), Caption: name + " in figures", Class: "narrow values", Quiet: true, Columns: []column{head("Statistic"), figures("As left")}}
	sets := []values{left}
	if found.count > 0 {
		sets = append(sets, found)
		t.Columns = append(t.Columns, figures("As found"))
	}
	decimals := decimalsFor(left.deviation, left.mean)
	if left.count == 0 {
		decimals = decimalsFor(found.deviation, found.mean)
	}
	line := func(name string, say func(v values) string) {
		row := []cell{own(name)}
		for _, v := range sets {
			said := none
			if v.count > 0 {
				said = say(v)
			}
			row = append(row, figureCell(said))
		}
		t.Rows = append(t.Rows, row)
	}
	n := []cell{own("n")}
	for _, v := range sets {
		n = append(n, countCell(v.count))
	}
	t.Rows = append(t.Rows, n)
	line("Mean", func(v values) string { return r.sayFixed(v.mean, decimals) })
	line("Standard deviation s", func(v values) string {
		if v.count < 2 {
			return none
		}
		return r.sayFixed(v.deviation, decimals+1)
	})
	line("Least", func(v values) string { return r.say(v.least) })
	line("Greatest", func(v values) string { return r.say(v.greatest) })
	line("Outside the limits", func(v values) string { return count(v.outside) })
	for _, c := range []struct {
		name string
		e    *pb.AuditEstimate
	}{{"Cp", capability.GetCp()}, {"Cpk", capability.GetCpk()}} {
		row := []cell{own(c.name)}
		switch {
		case c.e != nil && finite(c.e.GetValue()):
			row = append(row, cell{Text: twoDecimals(c.e.GetValue()), Small: bounds(c.e, twoDecimals)})
		case capability.GetAbsentBecause() != "":
			row = append(row, cell{Text: none, Small: capability.GetAbsentBecause(), Free: true})
		case c.name == "Cp" && finite(l.lower) != finite(l.upper):
			row = append(row, cell{Text: none, Small: "one limit only"})
		default:
			row = append(row, figureCell(none))
		}
		if found.count > 0 {
			row = append(row, figureCell(none))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// Measures of the drawings of one characteristic. Three stand side by side on a
// wide screen, two on paper, one on a telephone.
const (
	drawingWidth = 316.0
	edge         = 12.0
)

// histogram draws the readings as left, those as found behind them, and below,
// on the same axis, the limits as a bar with the mean and one standard deviation.
// Both histograms have the same area, so that shapes can be compared.
func histogram(l limits, left, found values) template.HTML {
	const (
		height = 176.0
		top    = 18.0
		base   = 104.0
		bar    = 140.0 // the middle of the limit bar
		half   = 5.0
	)
	p := &picture{width: drawingWidth, height: height}
	ax := spread(l, left, found)
	var tallest float64
	for _, v := range []values{left, found} {
		for i := range v.cells {
			tallest = max(tallest, v.density(i))
		}
	}
	up := scale{lo: 0, hi: tallest, from: base, to: top}

	drawCells(p, ax, up, base, found, "found", "found", l)
	drawCells(p, ax, up, base, left, "bar", "bad", l)
	outline(p, ax, up, base, found)
	p.line("axisline", edge, base, drawingWidth-edge, base)
	s := step(ax.lo, ax.hi, 5)
	for _, v := range ticks(ax.lo, ax.hi, 5) {
		x := ax.at(v)
		p.line("axisline", x, base, x, base+4)
		p.text("tick", "middle", x, base+17, tickText(v, s))
	}
	beyond(p, left, found)

	from, to := edge, drawingWidth-edge
	if finite(l.lower) {
		from = ax.at(l.lower)
	}
	if finite(l.upper) {
		to = ax.at(l.upper)
	}
	if finite(l.lower) || finite(l.upper) {
		p.rect("band", from, bar-half, to-from, 2*half)
	}
	for _, v := range []float64{l.lower, l.upper} {
		if finite(v) {
			x := ax.at(v)
			p.line("limitthrough", x, top-4, x, base)
			p.line("limit", x, bar-half-4, x, bar+half+4)
		}
	}
	if finite(l.nominal) {
		x := ax.at(l.nominal)
		p.line("nominal", x, bar-half-4, x, bar+half+4)
	}
	if found.count > 0 && finite(found.mean) {
		p.ring(ax.at(found.mean), bar)
	}
	if left.count > 0 && finite(left.mean) {
		if left.deviation > 0 {
			p.line("whisker", ax.at(left.mean-left.deviation), bar, ax.at(left.mean+left.deviation), bar)
		}
		p.dot("left", ax.at(left.mean), bar)
	}
	limitLabels(p, ax, l, bar+half+19)
	return p.beside("panel dist")
}

// spread is the axis of a histogram: from the least to the greatest of what is
// drawn.
func spread(l limits, all ...values) scale {
	lo, hi := math.Inf(1), math.Inf(-1)
	take := func(v float64) {
		if finite(v) {
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	take(l.lower)
	take(l.upper)
	take(l.nominal)
	for _, v := range all {
		if v.count == 0 {
			continue
		}
		take(v.mean)
		for i, n := range v.cells {
			if n > 0 {
				take(v.from + float64(i)*v.width())
				take(v.from + float64(i+1)*v.width())
			}
		}
	}
	if !(hi >= lo) {
		lo, hi = 0, 1
	}
	if hi == lo {
		around := max(math.Abs(hi)*0.05, 0.5)
		lo, hi = lo-around, hi+around
	}
	margin := (hi/2 - lo/2) * 0.12
	return scale{lo: lo - margin, hi: hi + margin, from: edge, to: drawingWidth - edge}
}

// leastHeight is that of a cell which is not empty: one reading of thousands is
// the one that is looked for.
const leastHeight = 1.5

// drawCells draws the cells of a histogram. A cell that lies wholly outside the
// limits has its own class; of one that a limit divides nobody knows.
func drawCells(p *picture, ax, up scale, base float64, v values, inside, outside string, l limits) {
	for i, n := range v.cells {
		if n == 0 {
			continue
		}
		from, to := v.from+float64(i)*v.width(), v.from+float64(i+1)*v.width()
		class := inside
		if to <= l.lower || from >= l.upper {
			class = outside
		}
		x0, x1, y := ax.at(from), ax.at(to), up.at(v.density(i))
		if class != "found" && x1-x0 > 3 {
			x1 -= 0.8 // cells stand apart
		}
		p.rect(class, x0, min(y, base-leastHeight), x1-x0, max(base-y, leastHeight))
	}
}

// outline draws the upper edge of a histogram, so that it shows through what
// stands before it.
func outline(p *picture, ax, up scale, base float64, v values) {
	if len(v.cells) == 0 {
		return
	}
	points := []point{{ax.at(v.from), base}}
	for i := range v.cells {
		y := up.at(v.density(i))
		points = append(points, point{ax.at(v.from + float64(i)*v.width()), y}, point{ax.at(v.from + float64(i+1)*v.width()), y})
	}
	points = append(points, point{ax.at(v.to), base})
	p.trace("casing", points) // sets it off from what it crosses
	p.trace("foundline", points)
}

// beyond tells how many values the histograms do not show.
func beyond(p *picture, left, found values) {
	say := func(l, f int64) string {
		var parts []string
		if l > 0 {
			parts = append(parts, count(l)+" left")
		}
		if f > 0 {
			parts = append(parts, count(f)+" found")
		}
		return strings.Join(parts, ", ")
	}
	if s := say(left.below, found.below); s != "" {
		p.text("label", "start", 2, 11, "← "+s)
	}
	if s := say(left.above, found.above); s != "" {
		p.text("label", "end", p.width-2, 11, s+" →")
	}
}

// limitLabels writes limits and nominal value below the limit bar: the limits
// apart from each other, the nominal value only where there is room.
func limitLabels(p *picture, ax scale, l limits, y float64) {
	const gap = 6.0
	type label struct {
		from, width float64
		said        string
	}
	place := func(v float64) label {
		said := plain(v, l.digits)
		w := float64(len([]rune(said)))*letter + 2
		return label{min(max(ax.at(v)-w/2, 0), p.width-w), w, said}
	}
	var placed []label
	for _, v := range []float64{l.lower, l.upper} {
		if finite(v) && (len(placed) == 0 || l.upper != l.lower) {
			placed = append(placed, place(v))
		}
	}
	if len(placed) == 2 {
		low, high := &placed[0], &placed[1]
		if over := low.from + low.width + gap - high.from; over > 0 {
			low.from = min(max(low.from-over/2, 0), p.width-low.width-gap-high.width)
			high.from = low.from + low.width + gap
		}
	}
	for _, q := range placed {
		p.text("limitlabel", "middle", q.from+q.width/2, y, q.said)
	}
	if !finite(l.nominal) {
		return
	}
	n := place(l.nominal)
	for _, q := range placed {
		if n.from < q.from+q.width+gap && q.from < n.from+n.width+gap {
			return
		}
	}
	p.text("label", "middle", n.from+n.width/2, y, n.said)
}
