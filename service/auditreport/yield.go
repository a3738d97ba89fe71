package auditreport

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"slices"

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
		b.yieldGroup("revisions", "By revision", "Revision", "spec", "revision", shownGroups, revisionNumber, s.GetRevisions()),
		b.yieldGroup("phases", "By phase", "Phase", "", "phase", math.MaxInt-1, phaseWords, s.GetPhases()),
		b.yieldGroup("months", "By month", "Month (UTC)", "", "month", math.MaxInt-1, same, s.GetMonths()),
	}
}

func (b *builder) yieldGroup(id, title, name, parent, noun string, most int, say func(string) string, groups []*pb.AuditYield) yieldGroup {
	out := yieldGroup{ID: id, Title: title, Empty: len(groups) == 0}
	if out.Empty {
		return out
	}
	all := len(groups)
	if most < all {
		groups = keptGroups(groups)
	}
	if parent != "" {
		name += " and " + parent
	}
	// The first and the rest have an axis each: among the rest are groups so small
	// that their intervals would leave the first no room.
	rows := func(groups []*pb.AuditYield) table {
		return b.yieldTable(phrase.LowerFirst(title), name, parent, say, groups)
	}
	first := groups
	if len(groups) > most+1 {
		first = groups[:most]
	}
	out.Table.Shown = rows(first)
	if rest := groups[len(first):]; len(rest) > 0 {
		out.Table.Rest = rows(rest)
		out.Table.Rest.Caption += ", continued"
		out.Table.Rest.Quiet = false
		out.Table.More = moreRows(rest, noun)
	}
	if len(groups) < all {
		out.Table.Left = fmt.Sprintf("Of %s, %s are listed: the %d whose interval ends lowest, and of the others those with most records. The other %s are in the audit’s JSON summary.",
			counted(int64(all), noun), count(int64(len(groups))), lowestGroups, count(int64(all-len(groups))))
	}
	return out
}

func (b *builder) yieldTable(caption, name, parent string, say func(string) string, groups []*pb.AuditYield) table {
	total := b.s.GetTotal().GetYield()
	ax := yieldScale(groups, total)
	t := table{ID: b.tableID(), Caption: "Records accepted, " + caption, Class: "yield", Quiet: true, Scroll: true, Columns: []column{
		head(name), figures("Accepted"),
		{Head: "Share accepted", Class: "axis", From: wholePercent(ax.lo), To: wholePercent(ax.hi)},
		figures("95" + space + "% interval"), figures("Records"),
		figures("Accept"), figures("Reject"), figures("Incom\u00adplete"), figures("Refer"),
	}}
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
	return t
}

// Of many groups some are listed.
const (
	mostGroups   = 240
	lowestGroups = 120
)

// keptGroups are those that are listed, in their order. Where there are too many,
// those come first whose interval ends lowest, since they are sure to be low.
func keptGroups(groups []*pb.AuditYield) []*pb.AuditYield {
	if len(groups) <= mostGroups {
		return groups
	}
	end := func(g *pb.AuditYield) float64 {
		if y := g.GetYield(); y != nil && g.GetRecordCount() > 0 && y.Upper != nil && isShare(y.GetUpper()) {
			return y.GetUpper()
		}
		return 1
	}
	order := make([]int, len(groups))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(end(groups[i]), end(groups[j])) })
	kept := make([]bool, len(groups))
	for _, i := range order[:lowestGroups] {
		kept[i] = true
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(groups[j].GetRecordCount(), groups[i].GetRecordCount()) })
	n := lowestGroups
	for _, i := range order {
		if !kept[i] && n < mostGroups {
			kept[i] = true
			n++
		}
	}
	var out []*pb.AuditYield
	for i, g := range groups {
		if kept[i] {
			out = append(out, g)
		}
	}
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

// yieldScale spans the intervals of the groups and the share of all records, from
// a round tenth to the whole.
// Places on a line may be compared from any origin; bars might not.
func yieldScale(groups []*pb.AuditYield, total *pb.AuditEstimate) scale {
	low := 0.9
	if total != nil && isShare(total.GetValue()) {
		low = min(low, total.GetValue())
	}
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
		p.dot("left", ax.at(y.GetValue()), middle)
	}
	return p.beside("share")
}
