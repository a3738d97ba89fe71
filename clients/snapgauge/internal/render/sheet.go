package render

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// Specs lists specs, one to a line.
func Specs(specs []*pb.Spec, o Options) string {
	if len(specs) == 0 {
		return "no specs\n"
	}
	t := layout.Table{Columns: []layout.Column{
		{Title: "SPEC"}, {Title: "MAKE", Drop: 2}, {Title: "MODEL"}, {Title: "YEAR", Drop: 3}, {Title: "MARKET", Drop: 4},
		{Title: "REV", Right: true}, {Title: "SINCE", Drop: 1}, {Title: "LINES", Right: true, Drop: 5}, {Title: "NOTE", Drop: 6},
	}}
	for _, s := range specs {
		note := ""
		if s.GetInvented() {
			note = "invented"
		}
		rev := s.GetLatestRevision()
		t.Rows = append(t.Rows, []string{
			lastPart(s.GetName()), s.GetMake(), s.GetModel(), strconv.Itoa(int(s.GetModelYear())), s.GetMarket(),
			strconv.Itoa(int(rev.GetRevision())), day(rev.GetEffectiveTime()), strconv.Itoa(int(rev.GetCharacteristicCount())), note,
		})
	}
	return table(t, o)
}

// Sheet writes a whole spec sheet: the characteristics under their groups, in
// the order in which the groups first come up in the job; then options,
// bulletins and rules.
func Sheet(r *pb.GetSpecResponse, o Options) string {
	p := o.page()
	s := r.GetSheet()
	p.Text(0, layout.Bold, join(", ", machine(join(" ", s.GetMake(), s.GetModel()), s.GetModelYear(), s.GetMarket()),
		fmt.Sprintf("sheet revision %d", s.GetRevision())))
	p.Text(0, "", s.GetDescription())
	p.Text(0, layout.Dim, join("; ", "in force from "+instant(s.GetEffectiveTime()), s.GetSourceDocument()))
	if rev := r.GetSpecRevision(); rev.GetWithdrawTime() != nil {
		p.Note(0, "withdrawn "+instant(rev.GetWithdrawTime())+":", layout.Red, rev.GetWithdrawReason())
	}
	if r.GetWhy() != "" {
		p.Text(0, layout.Dim, r.GetWhy())
	}
	if least := leastTimes(s); least != "" {
		p.Text(0, "", "takes at least: "+least)
	}
	for _, c := range s.GetCautions() {
		p.Note(0, "caution:", layout.Bold, c)
	}
	var order []pb.Group
	groups := make(map[pb.Group][]*pb.Characteristic)
	nameWidth := 0
	for _, c := range s.GetCharacteristics() {
		g := c.GetGroup()
		if groups[g] == nil {
			order = append(order, g)
		}
		groups[g] = append(groups[g], c)
		nameWidth = max(nameWidth, layout.Width(layout.Clean(c.GetDisplayName())))
	}
	nameWidth = min(nameWidth, (o.Width-margin)*2/5)
	for _, g := range order {
		p.Blank()
		p.Line(p.Ink.Write(layout.Bold, strings.ToUpper(phrase.Place(g))))
		for _, c := range groups[g] {
			row(p, c, nameWidth, o)
		}
	}
	amendments(p, s)
	return p.String()
}

// leastTimes says the least time of each phase that has one: "handover 20 min".
func leastTimes(s *pb.SpecSheet) string {
	var said []string
	for _, least := range s.GetLeastTimes() {
		said = append(said, fmt.Sprintf("%s %d min", phrase.Phase(least.GetPhase()), least.GetMinutes()))
	}
	return strings.Join(said, ", ")
}

// row writes a characteristic: severity, name, what it should be. All three
// stand in columns; the last two are wrapped.
func row(p *layout.Page, c *pb.Characteristic, nameWidth int, o Options) {
	const gap = 2
	severity := phrase.Name(c.GetSeverity())
	left := layout.Wrap(c.GetDisplayName(), nameWidth)
	rightWidth := p.Width - margin - nameWidth - gap
	right := layout.Wrap(Specified(c, o.Units), rightWidth)
	for i := range max(len(left), len(right)) {
		line := layout.Pad("", margin)
		if i == 0 {
			line = layout.Pad(p.Ink.Write(severityStyle(c.GetSeverity()), severity), margin)
		}
		name, specified := "", ""
		if i < len(left) {
			name = left[i]
		}
		if i < len(right) {
			specified = right[i]
		}
		p.Line(line + layout.Pad(name, nameWidth+gap) + specified)
	}
}

// amendments writes what changes the sheet.
func amendments(p *layout.Page, s *pb.SpecSheet) {
	title := func(text string) {
		p.Blank()
		p.Line(p.Ink.Write(layout.Bold, text))
	}
	if len(s.GetOptions()) > 0 {
		title("OPTIONS")
	}
	for _, option := range s.GetOptions() {
		p.Text(2, "", option.GetId()+": "+option.GetDisplayName())
		if option.GetDescription() != "" {
			p.Text(4, layout.Dim, option.GetDescription())
		}
		if needs := strings.Join(option.GetRequires(), ", "); needs != "" {
			p.Text(4, "", "requires "+needs)
		}
		if not := strings.Join(option.GetExcludes(), ", "); not != "" {
			p.Text(4, "", "excludes "+not)
		}
		if option.GetOffHighwayOnly() {
			p.Text(4, layout.Yellow, "off-highway only: with it the machine must not be ridden on public roads")
		}
		if option.GetCaution() != "" {
			p.Note(4, "caution:", layout.Bold, option.GetCaution())
		}
	}
	if len(s.GetBulletins()) > 0 {
		title("BULLETINS")
	}
	for _, b := range s.GetBulletins() {
		p.Text(2, "", b.GetId()+": "+b.GetTitle())
		p.Text(4, layout.Dim, join("; ", "from "+instant(b.GetEffectiveTime()), units(b.GetVin())))
	}
	if len(s.GetRules()) > 0 {
		title("RULES")
	}
	for _, r := range s.GetRules() {
		p.Text(2, "", r.GetId()+": "+r.GetMessage())
	}
}

func table(t layout.Table, o Options) string {
	var b strings.Builder
	_ = t.Write(&b, o.Width, o.Ink) // a Builder takes everything
	return b.String()
}
