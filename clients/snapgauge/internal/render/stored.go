package render

import (
	"fmt"

	"google.golang.org/protobuf/types/known/timestamppb"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// Setups lists stored set-ups, one to a line.
func Setups(setups []*pb.Setup, o Options) string {
	if len(setups) == 0 {
		return "no set-ups\n"
	}
	t := layout.Table{Columns: []layout.Column{
		{Title: "SET-UP"},
		{Title: "VERDICT", StyleOf: func(cell string) layout.Style {
			return verdictStyle(pb.Verdict(pb.Verdict_value["VERDICT_"+cell]))
		}},
		{Title: "FINISHED"}, {Title: "MODEL", Drop: 1}, {Title: "VIN", Drop: 2},
		{Title: "PHASE", Drop: 3}, {Title: "SHOP", Drop: 4}, {Title: "SUPERSEDED", Drop: 5},
	}}
	for _, s := range setups {
		r := s.GetRecord()
		superseded := ""
		if s.GetSupersededBy() != "" {
			superseded = "by " + lastPart(s.GetSupersededBy())
		}
		t.Rows = append(t.Rows, []string{
			lastPart(s.GetName()), Short(s.GetReport().GetVerdict()), day(r.GetFinishTime()),
			r.GetUnit().GetModel(), r.GetUnit().GetVin(), Words(r.GetPhase()), r.GetShop(), superseded,
		})
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
		{"conditions", wordList(r.GetConditions())},
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

func minute(t *timestamppb.Timestamp) string {
	if t == nil || !t.IsValid() {
		return ""
	}
	return t.AsTime().UTC().Format("2006-01-02 15:04Z")
}
