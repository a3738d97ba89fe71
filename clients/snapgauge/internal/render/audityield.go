package render

import (
	"cmp"
	"slices"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// shopTable compares the shops, the least share accepted first. Their intervals
// stand beside, since a shop with few records comes first or last by chance.
func shopTable(p *layout.Page, s *pb.AuditSummary, o Options) {
	shops := slices.Clone(s.GetShops())
	if len(shops) == 0 {
		return
	}
	slices.SortStableFunc(shops, func(a, b *pb.AuditYield) int {
		return cmp.Or(cmp.Compare(a.GetYield().GetValue(), b.GetYield().GetValue()),
			cmp.Compare(b.GetRecordCount(), a.GetRecordCount()), cmp.Compare(a.GetName(), b.GetName()))
	})
	shown := min(len(shops), mostRanked)
	t := layout.Table{Columns: []layout.Column{
		{Title: "SHOP"}, {Title: "RECORDS", Right: true}, {Title: "ACCEPTED", Right: true}, {Title: "95 % INTERVAL", Drop: 1},
		{Title: "REJECT", Right: true, Drop: 2}, {Title: "INCOMPLETE", Right: true, Drop: 3}, {Title: "REFER", Right: true, Drop: 4},
	}}
	for _, y := range shops[:shown] {
		t.Rows = append(t.Rows, []string{
			y.GetName(), phrase.Grouped(y.GetRecordCount()), phrase.Percent(y.GetYield().GetValue()), percents(y.GetYield()),
			phrase.Grouped(y.GetRejectedCount()), phrase.Grouped(y.GetIncompleteCount()), phrase.Grouped(y.GetReferredCount()),
		})
	}
	section(p, ranked("accepted by shop, least first", shown, len(shops)))
	put(p, t, o)
}
