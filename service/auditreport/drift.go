package auditreport

import (
	"fmt"
	"html/template"
	"math"
	"strings"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// mostPeriods are drawn and listed of one characteristic: the latest.
const mostPeriods = 60

func lately(list []*pb.AuditPeriod) []*pb.AuditPeriod { return list[max(0, len(list)-mostPeriods):] }

// fewReadings is the number below which a mean is drawn open.
const fewReadings = 5

// period is a month or revision with its place on the axis.
type period struct {
	at    float64
	label string
	*pb.AuditPeriod
}

// monthsOf places months by the calendar, so that a gap shows as one, unless
// they lie too far apart. Those that are no months are left out; the table has
// them.
func monthsOf(list []*pb.AuditPeriod) []period {
	var out []period
	var first time.Time
	far := false
	for _, p := range list {
		t, err := time.Parse("2006-01", p.GetName())
		if err != nil {
			continue
		}
		if len(out) == 0 {
			first = t
		}
		n := (t.Year()-first.Year())*12 + int(t.Month()) - int(first.Month())
		if n < 0 || n >= 2*mostPeriods || len(out) > 0 && float64(n) <= out[len(out)-1].at {
			far = true
		}
		out = append(out, period{float64(n), p.GetName(), p})
	}
	if far {
		for i := range out {
			out[i].at = float64(i)
		}
	}
	return out
}

func revisionsOf(list []*pb.AuditPeriod) []period {
	out := make([]period, len(list))
	for i, p := range list {
		out[i] = period{float64(i), shortened(p.GetName(), 12), p}
	}
	return out
}

// measured are the periods that have a mean.
func measured(all []period) []period {
	var out []period
	for _, p := range all {
		if p.GetCount() > 0 && finite(p.GetMean()) {
			out = append(out, p)
		}
	}
	return out
}

// driftView is nil where there are no two means to compare.
func (b *builder) driftView(r reading, l limits, list []*pb.AuditPeriod) *figureView {
	all := monthsOf(list)
	if !differ(measured(all)) {
		return nil
	}
	return &figureView{Drawing: means(true, r, l, all), Caption: "Mean by month ± s" + inUnit(r)}
}

func (b *builder) revisionsView(r reading, l limits, list []*pb.AuditPeriod) *figureView {
	all := revisionsOf(list)
	if !differ(measured(all)) {
		return nil
	}
	return &figureView{Drawing: means(false, r, l, all), Caption: "Mean by revision ± s" + inUnit(r)}
}

// differ reports whether anything would show in a drawing of means.
func differ(list []period) bool {
	for _, p := range list {
		if p.GetMean() != list[0].GetMean() || len(list) > 1 && p.GetStandardDeviation() > 0 {
			return true
		}
	}
	return false
}

// inUnit is the unit behind the name of what is measured in it.
func inUnit(r reading) string {
	if r.symbol == "" {
		return ""
	}
	return " (" + r.symbol + ")"
}

// farLimit is how many times the spread of the data a limit may widen the axis
// before it is named instead of drawn.
const farLimit = 8

// means draws a mean with one standard deviation either way for each period, and
// the limits. Months that follow one another are joined, revisions are not.
func means(months bool, r reading, l limits, all []period) template.HTML {
	const (
		height = 176.0
		top    = 18.0
		base   = 150.0
	)
	list := measured(all)
	p := &picture{width: drawingWidth, height: height}

	lo, hi := math.Inf(1), math.Inf(-1)
	for _, q := range list {
		m, s := r.at(q.GetMean()), r.difference(q.GetStandardDeviation())
		if !finite(s) {
			s = 0
		}
		lo, hi = min(lo, m-s), max(hi, m+s)
	}
	wide := max(hi-lo, math.Abs(hi)*1e-6)
	if l.upper > l.lower {
		wide = max(wide, (l.upper-l.lower)/farLimit)
	}
	var off []string
	for _, v := range []struct {
		at   float64
		name string
	}{{l.lower, "lower"}, {l.upper, "upper"}} {
		switch {
		case !finite(v.at):
		case v.at > hi+farLimit*wide || v.at < lo-farLimit*wide:
			off = append(off, v.name+" limit "+plain(v.at, l.digits))
		default:
			lo, hi = min(lo, v.at), max(hi, v.at)
		}
	}
	if hi == lo {
		around := max(math.Abs(hi)*0.05, 0.5)
		lo, hi = lo-around, hi+around
	}
	margin := (hi/2 - lo/2) * 0.14
	up := scale{lo: lo - margin, hi: hi + margin, from: base, to: top}

	s := step(up.lo, up.hi, 5)
	var marks []float64
	widest := 0
	for _, v := range ticks(up.lo, up.hi, 5) {
		marks = append(marks, v)
		widest = max(widest, len(tickText(v, s)))
	}
	start := float64(widest)*letter + 8
	for _, v := range marks {
		p.text("tick", "end", start-6, up.at(v)+4, tickText(v, s))
		p.line("grid", start, up.at(v), p.width-edge, up.at(v))
	}
	for _, v := range []float64{l.lower, l.upper} {
		if finite(v) && v >= up.lo && v <= up.hi {
			p.line("limit", start, up.at(v), p.width-edge, up.at(v))
		}
	}
	if finite(l.nominal) && l.nominal >= up.lo && l.nominal <= up.hi {
		p.line("nominal", start, up.at(l.nominal), p.width-edge, up.at(l.nominal))
	}
	if len(off) > 0 {
		p.text("label", "end", p.width-edge, 11, "off the scale: "+strings.Join(off, ", "))
	}
	ax := periodAxis(all, start)
	periodLabels(p, ax, all, base)
	if months {
		var run []point
		for i, q := range list {
			if i > 0 && q.at-list[i-1].at > 1 {
				p.trace("run", run)
				run = nil
			}
			run = append(run, point{ax.at(q.at), up.at(r.at(q.GetMean()))})
		}
		p.trace("run", run)
	}
	for _, q := range list {
		x, m, d := ax.at(q.at), r.at(q.GetMean()), r.difference(q.GetStandardDeviation())
		if q.GetCount() > 1 && finite(d) {
			p.line("whisker", x, up.at(m-d), x, up.at(m+d))
		}
		if q.GetCount() < fewReadings {
			p.ring(x, up.at(m))
		} else {
			p.dot("left", x, up.at(m))
		}
	}
	return p.beside("panel")
}

// periodAxis places periods between the labels of the other axis and the edge.
func periodAxis(all []period, start float64) scale {
	return scale{lo: -0.5, hi: all[len(all)-1].at + 0.5, from: start, to: drawingWidth - edge}
}

// periodLabels names as many periods below the axis as there is room for.
func periodLabels(p *picture, ax scale, all []period, base float64) {
	p.line("axisline", ax.from, base, ax.to, base)
	free := math.Inf(-1)
	for i, q := range all {
		x := ax.at(q.at)
		p.line("axisline", x, base, x, base+3)
		w := float64(len([]rune(q.label)))*letter + 6
		from := min(max(x-w/2, 0), p.width-w)
		if from < free || i > 0 && i < len(all)-1 && ax.at(all[len(all)-1].at)-x < w {
			continue
		}
		free = from + w + 4
		p.text("tick", "middle", from+w/2, base+17, q.label)
	}
}

// shareView is the share of each month drawn, or a sentence where that says it.
func (b *builder) shareView(list []*pb.AuditPeriod) (*figureView, string) {
	var all []period
	var wrong int64
	for _, q := range monthsOf(list) {
		if q.GetRecordCount() > 0 {
			all = append(all, q)
			wrong += q.GetNonconformingCount()
		}
	}
	switch {
	case len(all) < 2:
		return nil, ""
	case wrong == 0:
		return nil, fmt.Sprintf("Nothing was nonconforming in any of %s.", counted(int64(len(all)), "month"))
	}
	return &figureView{Drawing: shares(all), Caption: "Nonconforming share by month"}, ""
}

// shares draws the nonconforming share of each month as a bar from nought.
func shares(all []period) template.HTML {
	const (
		height = 176.0
		top    = 18.0
		base   = 150.0
	)
	share := func(q period) float64 { return part(q.GetNonconformingCount(), q.GetRecordCount()) }
	worst := all[0]
	for _, q := range all {
		if share(q) > share(worst) {
			worst = q
		}
	}
	p := &picture{width: drawingWidth, height: height}
	up := scale{lo: 0, hi: max(roundUp(share(worst)), 0.05), from: base, to: top}
	if share(worst) == 0 {
		up.hi = 0.05
	}
	const start = 44.0
	for _, v := range []float64{0, up.hi / 2, up.hi} {
		p.text("tick", "end", start-6, up.at(v)+4, plain(v*100, 3)+space+"%")
		p.line("grid", start, up.at(v), p.width-edge, up.at(v))
	}
	ax := periodAxis(all, start)
	width := min((ax.to-ax.from)/(ax.hi-ax.lo)*0.7, 22)
	for _, q := range all {
		if s := share(q); s > 0 {
			p.rect("bad", ax.at(q.at)-width/2, up.at(s), width, base-up.at(s))
		}
	}
	periodLabels(p, ax, all, base)
	return p.beside("panel")
}
