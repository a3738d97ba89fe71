package render

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// labelWidth is the column of the labels of an answer.
const labelWidth = len("lubrication") + 2

// someDiffer warns that a bulletin makes something else of it for some units.
const someDiffer = "; some units differ"

// Answer writes what was found for a question: the best match at length, the
// others in a line each. Nothing found is said so.
func Answer(r *pb.LookUpCharacteristicsResponse, o Options) string {
	p := o.page()
	of := join(", ", machine(join(" ", r.GetSpec().GetMake(), r.GetSpec().GetModel()), r.GetSpec().GetModelYear(), r.GetSpec().GetMarket()),
		revision(r.GetSpecRevision().GetName()))
	matches := r.GetMatches()
	if len(matches) == 0 {
		p.Text(0, "", "nothing on the sheet is like that")
		p.Text(0, layout.Dim, of)
		return p.String()
	}
	best := matches[0].GetCharacteristic()
	p.Text(0, layout.Bold, best.GetDisplayName())
	p.Text(0, layout.Bold, Specified(best, o.Units))
	p.Blank()
	for _, row := range particulars(best, o.Units) {
		style, label := layout.Style(""), layout.Dim
		switch row[0] {
		case "source":
			style = layout.Dim
		case "caution":
			label = layout.Bold
		}
		p.Hang(2, row[0], labelWidth, label, row[1], style)
	}
	for _, note := range matches[0].GetBulletins() {
		p.Hang(2, "bulletin", labelWidth, layout.Bold, bulletinNote(note, Specified(best, o.Units), o.Units), "")
	}
	p.Hang(2, "sheet", labelWidth, layout.Dim, of, layout.Dim)
	if len(matches) > 1 {
		p.Blank()
		p.Line("or did you mean")
		column := 0
		for _, m := range matches[1:] {
			column = max(column, layout.Width(layout.Clean(m.GetCharacteristic().GetDisplayName())))
		}
		column = min(column, p.Width/2)
		for _, m := range matches[1:] {
			c := m.GetCharacteristic()
			name := layout.Pad(layout.Shorten(layout.Clean(c.GetDisplayName()), column), column)
			said, room := layout.Clean(Specified(c, o.Units)), p.Width-column-4
			if len(m.GetBulletins()) > 0 && room >= 2*len(someDiffer) {
				said = layout.Shorten(said, room-len(someDiffer)) + someDiffer
			}
			p.Line("  " + name + "  " + layout.Shorten(said, room))
		}
	}
	return p.String()
}

// particulars are the labelled lines about a characteristic, in the order in
// which hands need them.
func particulars(c *pb.Characteristic, system quantity.System) [][2]string {
	var rows [][2]string
	add := func(label, text string) {
		if text != "" {
			rows = append(rows, [2]string{label, text})
		}
	}
	if f := c.GetFastener(); f != nil {
		add("thread", f.GetThread())
		size := ""
		if f.GetDriveSizeMm() > 0 {
			size = quantity.Format(f.GetDriveSizeMm(), quantity.MustUnit("mm"), 4)
		}
		if f.GetDrive() != pb.Drive_DRIVE_UNSPECIFIED {
			size = join(" ", phrase.Drive(f.GetDrive()), size)
		}
		add("size", size)
		add("class", f.GetPropertyClass())
		if f.GetPieces() > 0 {
			add("pieces", strconv.Itoa(int(f.GetPieces())))
		}
		add("locking", phrase.Locking(f.GetLocking()))
		add("lubrication", cmp.Or(phrase.Lubrication(f.GetLubrication()), "clean and dry"))
		if f.GetRenew() {
			add("renew", "new each time")
		}
	}
	if f := c.GetCapacity(); f != nil {
		add("fluid", f.GetFluid())
		if f.SafeFill != nil {
			text := Limits(&pb.Limits{Upper: f.SafeFill, Unit: c.GetLimits().GetUnit()}, system)
			if f.GetStandLeanDeg() > 0 {
				text += fmt.Sprintf(", leaning %s on its stand", quantity.Format(f.GetStandLeanDeg(), quantity.MustUnit("deg"), 3))
			}
			add("safe fill", text)
		}
	}
	if a := c.GetAdjuster(); a != nil {
		way := "out"
		if a.GetCounted() == pb.TurnDirection_TURN_DIRECTION_IN {
			way = "in"
		}
		add("counted", way+" from "+a.GetReferencePosition())
		if m := a.GetMechanicalRange(); m.Lower != nil || m.Upper != nil {
			add("reaches", Limits(&pb.Limits{Lower: m.Lower, Upper: m.Upper, Unit: c.GetLimits().GetUnit()}, system))
		}
		if a.GetPitchMm() > 0 {
			add("pitch", quantity.Format(a.GetPitchMm(), quantity.MustUnit("mm"), 3)+" a turn")
		}
		if moves := a.GetMoves(); moves != nil {
			add("sets", moves.GetCharacteristic())
		}
	}
	add("tool", strings.Join(c.GetTools(), ", "))
	add("conditions", conditions(c.GetReferenceConditions()))
	add("method", c.GetMethod())
	add("caution", c.GetCaution())
	add("if it fails", c.GetRemedy())
	if c.GetDecisionRule() == pb.DecisionRule_DECISION_RULE_GUARDED_ACCEPTANCE {
		add("decision", "guarded: must be inside the limits by the uncertainty of the instrument")
	}
	add("required", phases(c.GetRequiredIn()))
	add("failing is", phrase.Name(c.GetSeverity()))
	add("id", c.GetId())
	add("source", c.GetSource())
	return rows
}
