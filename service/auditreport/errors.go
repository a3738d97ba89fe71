package auditreport

import "github.com/snapgauge/snapgauge/service/phrase"

// errors are the reasons of records that could not be judged, or nil where
// there are none.
func (b *builder) errors() *table {
	if len(b.s.GetErrors()) == 0 {
		return nil
	}
	t := table{ID: b.tableID(), Caption: "Records that could not be judged, by reason", Class: "narrow", Columns: []column{
		head("Reason"), figures("Records"), figures("Share of them"),
	}}
	for _, e := range b.s.GetErrors() {
		t.Rows = append(t.Rows, []cell{
			{Text: phrase.UpperFirst(nameOr(reasonWords(e.GetReason()), "not stated")), Small: e.GetReason(), Free: true},
			countCell(e.GetRecordCount()), figureCell(percent(part(e.GetRecordCount(), b.s.GetErrorCount()))),
		})
	}
	return &t
}
