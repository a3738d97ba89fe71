package auditreport

import (
	"html/template"
	"math"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// yieldGroup is the share of records accepted, by groups of one kind.
type yieldGroup struct {
	ID, Title string
	Table     folded
	Empty     bool
}

// How many groups a reader sees before a fold. Months and phases are never
// folded: their order is what is read.
const shownGroups = 15

func (b *builder) yields() []yieldGroup {
	same := func(name string) string { return name }
	s := b.s
	return []yieldGroup{
		b.yieldGroup("shops", "By shop", "Shop", "", "shop", shownGroups, same, s.GetShops()),
		b.yieldGroup("technicians", "By technician", "Technician", "shop", "technician", shownGroups, same, s.GetTechnicians()),
		b.yieldGroup("specs", "By spec", "Spec", "model", "spec", shownGroups, same, s.GetSpecs()),
		b.yieldGroup("revisions", "By revision", "Revision", "spec", "revision", shownGroups, revisionWords, s.GetRevisions()),
		b.yieldGroup("phases", "By phase", "Phase", "", "phase", math.MaxInt-1, phaseWords, s.GetPhases()),
		b.yieldGroup("months", "By month", "Month (UTC)", "", "month", math.MaxInt-1, same, s.GetMonths()),
	}
}

func (b *builder) yieldGroup(id, title, name, parent, noun string, most int, say func(string) string, groups []*pb.AuditYield) yieldGroup {
	out := yieldGroup{ID: id, Title: title, Empty: len(groups) == 0}
	if out.Empty {
		return out
	}
	ax := yieldScale(groups)
	t := table{ID: b.tableID(), Caption: "Records accepted, " + phrase.LowerFirst(title), Class: "yield", Quiet: true, Scroll: true}
	if parent != "" {
		name += " and " + parent
	}
	t.Columns = []column{
		head(name), figures("Accepted"),
		{Head: "Share accepted", Class: "axis", From: wholePercent(ax.lo), To: wholePercent(ax.hi)},
		figures("95" + space + "% interval"), figures("Records"),
		figures("Accept"), figures("Reject"), figures("Incom\u00adplete"), figures("Refer"),
	}
	total := b.s.GetTotal().GetYield()
	for _, g := range groups {
		share, interval := none, none
		if y := g.GetYield(); y != nil && g.GetRecordCount() > 0 {
			share = percent(y.GetValue())
			if i := bounds(y, percentBare); i != "" {
				interval = i
			}
		}
		first := text(nameOr(say(g.GetName()), "not stated"))
		if parent != "" {
			first.Small = nameOr(g.GetParent(), parent+" not stated")
		}
		t.Rows = append(t.Rows, []cell{
			first, figureCell(share), plotCell(yieldPlot(ax, g, total)), figureCell(interval), countCell(g.GetRecordCount()),
			countCell(g.GetAcceptedCount()), countCell(g.GetRejectedCount()), countCell(g.GetIncompleteCount()), countCell(g.GetReferredCount()),
		})
	}
	out.Table = b.fold(t, most, noun)
	return out
}

// percentBare is a percentage whose sign stands in the column's head.
func percentBare(share float64) string {
	if !isShare(share) {
		return none
	}
	return fixed(share*100, 1)
}

// The interval plots of a table.
const (
	plotWidth  = 168.0
	plotHeight = 20.0
	plotInset  = 6.0
)

// yieldScale spans the intervals of all groups, from a round tenth to the whole.
// Places on a line may be compared from any origin; bars might not.
func yieldScale(groups []*pb.AuditYield) scale {
	low := 0.9
	for _, g := range groups {
		if g.GetRecordCount() == 0 || g.GetYield() == nil {
			continue
		}
		y := g.GetYield()
		if isShare(y.GetValue()) {
			low = min(low, y.GetValue())
		}
		if y.Lower != nil && isShare(y.GetLower()) {
			low = min(low, y.GetLower())
		}
	}
	return scale{lo: max(math.Floor(low*10+1e-9)/10, 0), hi: 1, from: plotInset, to: plotWidth - plotInset}
}

// yieldPlot marks a group's share and its interval, and the share of all records
// as a dotted line.
func yieldPlot(ax scale, g *pb.AuditYield, total *pb.AuditEstimate) template.HTML {
	p := &picture{width: plotWidth, height: plotHeight}
	const middle = plotHeight / 2
	p.line("grid", ax.from, middle, ax.to, middle)
	if total != nil && isShare(total.GetValue()) {
		x := ax.at(total.GetValue())
		p.line("total", x, 0, x, plotHeight)
	}
	if y := g.GetYield(); y != nil && g.GetRecordCount() > 0 && isShare(y.GetValue()) {
		if y.Lower != nil && y.Upper != nil && isShare(y.GetLower()) && isShare(y.GetUpper()) {
			p.line("interval", ax.at(y.GetLower()), middle, ax.at(y.GetUpper()), middle)
		}
		p.dot("left", ax.at(y.GetValue()), middle, 4)
	}
	return p.beside()
}
