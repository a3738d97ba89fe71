package render

import (
	"fmt"
	"slices"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// Setups lists stored set-ups, one to a line; in a narrow terminal the name of
// each stands below it, since it is what show is asked for by. Whether one is
// superseded is told where any is.
func Setups(setups []*pb.Setup, o Options) string {
	if len(setups) == 0 {
		return "no set-ups\n"
	}
	t := layout.Table{Columns: []layout.Column{
		{Title: "SET-UP", Below: true},
		{Title: "VERDICT", Whole: true, StyleOf: func(cell string) layout.Style {
			return verdictStyle(pb.Verdict(pb.Verdict_value["VERDICT_"+cell]))
		}},
		{Title: "VIN", Whole: true}, {Title: "PHASE"}, {Title: "SHOP"},
		{Title: "MODEL", Drop: 2}, {Title: "FINISHED", Drop: 3},
	}}
	corrected := slices.ContainsFunc(setups, func(s *pb.Setup) bool { return s.GetSupersededBy() != "" })
	if corrected {
		t.Columns = append(t.Columns, layout.Column{Title: "SUPERSEDED", Drop: 1})
	}
	for _, s := range setups {
		r := s.GetRecord()
		row := []string{
			lastPart(s.GetName()), phrase.Name(s.GetReport().GetVerdict()), r.GetUnit().GetVin(), phrase.Phase(r.GetPhase()), r.GetShop(),
			r.GetUnit().GetModel(), day(r.GetFinishTime()),
		}
		if corrected {
			superseded := ""
			if s.GetSupersededBy() != "" {
				superseded = "yes"
			}
			row = append(row, superseded)
		}
		t.Rows = append(t.Rows, row)
	}
	return table(t, o)
}

// Setup writes a stored set-up: its report, then how it came about and what was
// read.
func Setup(s *pb.Setup, full bool, o Options) string {
	p := o.page()
	r := s.GetRecord()
	const label = len("superseded by  ")
	p.Blank()
	for _, row := range [][2]string{
		{"stored as", s.GetName()},
		{"stored at", minute(s.GetCreateTime())},
		{"shop", join(", ", r.GetShop(), prefixed("technician ", r.GetTechnician()))},
		{"work", join(" to ", minute(r.GetStartTime()), minute(r.GetFinishTime()))},
		{"options", join(", ", r.GetOptions()...)},
		{"conditions", conditions(r.GetConditions())},
		{"note", r.GetNote()},
		{"supersedes", r.GetSupersedes()},
		{"superseded by", s.GetSupersededBy()},
	} {
		if row[1] != "" {
			p.Hang(0, row[0], label, layout.Dim, row[1], "")
		}
	}
	text := Report(Judged{Record: r, Report: s.GetReport(), Full: full}, o) + p.String()
	if len(r.GetReadings()) > 0 {
		text += "\n" + readings(r, o)
	}
	return text
}

// readings lists what was read, as it was written down: units are not
// converted.
func readings(r *pb.SetupRecord, o Options) string {
	t := layout.Table{Columns: []layout.Column{
		{Title: "READING"}, {Title: "VALUE", Right: true}, {Title: "STAGE", Drop: 1}, {Title: "TIME", Drop: 2}, {Title: "INSTRUMENT", Drop: 3},
	}}
	for _, reading := range r.GetReadings() {
		stage := "as left"
		if reading.GetStage() == pb.Stage_STAGE_AS_FOUND {
			stage = "as found"
		}
		t.Rows = append(t.Rows, []string{
			reading.GetCharacteristic(), result(reading), stage, minute(reading.GetTime()), reading.GetInstrument(),
		})
	}
	return table(t, o)
}

func result(r *pb.Reading) string {
	switch v := r.GetResult().(type) {
	case *pb.Reading_Value:
		unit, err := quantity.ParseUnit(r.GetUnit())
		if err != nil {
			return join(" ", fmt.Sprintf("%g", v.Value), r.GetUnit())
		}
		return value(v.Value, unit, mostDigits)
	case *pb.Reading_Pass:
		if v.Pass {
			return "pass"
		}
		return "fail"
	case *pb.Reading_Choice:
		return v.Choice
	case *pb.Reading_Text:
		return v.Text
	}
	return "missing"
}
