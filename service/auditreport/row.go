package auditreport

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// specRows are the characteristics of one spec that are not drawn, one row each.
type specRows struct {
	Spec, Line string
	Measured   *table
	Checked    *table
}

// mostRows are the rows of all specs together.
const mostRows = 3000

// inRows gives each characteristic that is not drawn a row, in the order of the
// summary. Where there are too many, the worst have one; the others are counted.
func (b *builder) inRows(drawn map[*pb.AuditCharacteristic]bool) (out []specRows, left int) {
	var list []*pb.AuditCharacteristic
	for _, c := range b.s.GetCharacteristics() {
		if !drawn[c] {
			list = append(list, c)
		}
	}
	without := map[*pb.AuditCharacteristic]bool{}
	if left = max(len(list)-mostRows, 0); left > 0 {
		order := slices.Clone(list)
		slices.SortStableFunc(order, worse)
		for _, c := range order[mostRows:] {
			without[c] = true
		}
	}
	type part struct{ measured, checked [][]cell }
	parts := map[string]*part{}
	var specs []string
	for _, c := range list {
		if without[c] {
			continue
		}
		p := parts[c.GetSpecId()]
		if p == nil {
			p = &part{}
			parts[c.GetSpecId()] = p
			specs = append(specs, c.GetSpecId())
		}
		if len(c.GetDistributions()) > 0 {
			p.measured = append(p.measured, b.measuredRow(c))
		} else {
			p.checked = append(p.checked, b.checkedRow(c))
		}
	}
	for _, spec := range specs {
		p := parts[spec]
		one := specRows{Spec: nameOr(spec, "spec not stated"), Line: counted(int64(len(p.measured)+len(p.checked)), "characteristic")}
		if len(p.measured) > 0 {
			one.Measured = &table{
				ID: b.tableID(), Caption: "Measured: " + one.Spec, Class: "rows", Scroll: true, Rows: p.measured,
				Columns: []column{
					head("Characteristic and limits"), figures("n"), figures("Non\u00adconforming"), figures("Mean"), figures("s"),
					figures("Cp"), figures("Cpk"), {Head: "Readings as left, and limits", Class: "tiny"},
				},
			}
		}
		if len(p.checked) > 0 {
			one.Checked = &table{
				ID: b.tableID(), Caption: "Checked, not measured: " + one.Spec, Class: "rows narrow", Scroll: true, Rows: p.checked,
				Columns: []column{head("Characteristic"), figures("n"), figures("Non\u00adconforming"), figures("Un\u00addecided"), figures("Missing")},
			}
		}
		out = append(out, one)
	}
	return out, left
}

// checkedRow is the row of what is not a number.
func (b *builder) checkedRow(c *pb.AuditCharacteristic) []cell {
	o := outcomesOf(c.GetTally())
	return []cell{text(b.nameOf(c)), countCell(o.due), figureCell(percentOf(o.wrong, o.due)), countCell(o.undecided), countCell(o.missing)}
}

// measuredRow is the row of what is a number. Statistics are those in the limits
// that most readings were judged by.
func (b *builder) measuredRow(c *pb.AuditCharacteristic) []cell {
	o := outcomesOf(c.GetTally())
	r, d := b.readingOf(c), c.GetDistributions()[0]
	l, left := limitsOf(r, d), valuesOf(r, d.GetAsLeft())
	limits := l.words
	if limits == "" {
		limits = "no limits"
	}
	if n := len(c.GetDistributions()) - 1; n > 0 {
		limits += fmt.Sprintf("; %s of limits", counted(int64(n), "other set"))
	}
	mean, deviation := none, none
	if left.count > 0 {
		decimals := decimalsFor(left.deviation, left.mean)
		mean = r.sayFixed(left.mean, decimals)
		if left.deviation == 0 {
			mean = r.say(left.mean)
		}
		if left.count > 1 {
			deviation = fixed(left.deviation, decimals)
		}
	}
	capability := func(e *pb.AuditEstimate) cell {
		if e == nil || !finite(e.GetValue()) {
			return figureCell(none)
		}
		return cell{Text: twoDecimals(e.GetValue()), Small: bounds(e, twoDecimals)}
	}
	return []cell{
		{Text: b.nameOf(c), Small: limits, Free: true},
		countCell(o.due), figureCell(percentOf(o.wrong, o.due)), figureCell(mean), figureCell(deviation),
		capability(d.GetCapability().GetCp()), capability(d.GetCapability().GetCpk()),
		{Class: "tiny", SVG: tinyHistogram(l, left)},
	}
}

// The size of a histogram in a row, in whole pixels.
const (
	tinyWidth  = 112.0
	tinyHeight = 20.0
)

// tinyHistogram draws readings as left as one path: the cells stand on a line
// inside, the limits go from edge to edge. The row has the figures.
func tinyHistogram(l limits, v values) template.HTML {
	if len(v.cells) == 0 {
		return ""
	}
	ax := spread(l, v)
	ax.from, ax.to = 1, tinyWidth-1
	var tallest int64
	for _, n := range v.cells {
		tallest = max(tallest, n)
	}
	const base, room = tinyHeight - 3, tinyHeight - 6
	var b strings.Builder
	column := func(from, to, height float64) {
		fmt.Fprintf(&b, "h%dv%dh%dz", int(to-from), int(height), int(from-to))
	}
	at := func(v float64) float64 { return math.Round(ax.at(v)) }
	for i, n := range v.cells {
		if n == 0 {
			continue
		}
		from, to := at(v.from+float64(i)*v.width()), at(v.from+float64(i+1)*v.width())
		to = max(to, from+1)
		height := max(math.Round(float64(n)/float64(tallest)*room), 1)
		fmt.Fprintf(&b, "M%d %d", int(from), int(base-height))
		column(from, to, height)
	}
	for _, v := range []float64{l.lower, l.upper} {
		if finite(v) {
			x := min(at(v), tinyWidth-2)
			fmt.Fprintf(&b, "M%d 0", int(x))
			column(x, x+1, tinyHeight)
		}
	}
	return template.HTML(fmt.Sprintf(`<svg aria-hidden="true" viewBox="0 0 %g %g"><path d="%s"/></svg>`, tinyWidth, tinyHeight, b.String()))
}
