package render

import (
	"cmp"
	"slices"
	"strconv"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// capable is a characteristic within one set of limits whose capability is known.
type capable struct {
	of *pb.AuditCharacteristic
	d  *pb.AuditDistribution
}

// capabilityTable lists where the process fits its limits least: the least Cpk
// first.
func capabilityTable(p *layout.Page, s *pb.AuditSummary, o Options) {
	var all []capable
	for _, c := range s.GetCharacteristics() {
		for _, d := range c.GetDistributions() {
			if cpk := d.GetCapability().GetCpk(); cpk != nil && finite(cpk.GetValue()) {
				all = append(all, capable{c, d})
			}
		}
	}
	if len(all) == 0 {
		return
	}
	slices.SortStableFunc(all, func(a, b capable) int {
		return cmp.Or(cmp.Compare(a.d.GetCapability().GetCpk().GetValue(), b.d.GetCapability().GetCpk().GetValue()),
			cmp.Compare(a.of.GetSpecId(), b.of.GetSpecId()), cmp.Compare(a.of.GetCharacteristic(), b.of.GetCharacteristic()))
	})
	shown := min(len(all), mostRanked)
	t := layout.Table{Columns: []layout.Column{
		{Title: "CPK", Right: true}, {Title: "95 % INTERVAL"}, {Title: "READINGS", Right: true, Drop: 1},
		{Title: "CHARACTERISTIC"}, {Title: "LIMITS", Drop: 2}, {Title: "SPEC", Below: true, Style: layout.Dim},
	}}
	for _, c := range all[:shown] {
		cpk := c.d.GetCapability().GetCpk()
		name := c.of.GetDisplayName()
		if name == "" {
			name = c.of.GetCharacteristic()
		}
		limits := &pb.Limits{Lower: c.d.Lower, Upper: c.d.Upper, Unit: c.of.GetUnit()}
		t.Rows = append(t.Rows, []string{
			index(cpk.GetValue()), phrase.Interval(cpk, index), phrase.Grouped(c.d.GetAsLeft().GetCount()), name, Limits(limits, o.Units), c.of.GetSpecId(),
		})
	}
	section(p, ranked("capability of the readings as left, least first", shown, len(all)))
	put(p, t, o)
	p.Text(0, layout.Dim, "It supposes independent readings from one stable process, near normal.")
}

// index writes a capability index: two decimals are more than it is known to.
func index(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }
