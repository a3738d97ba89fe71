package render

import (
	"strings"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// Formulas lists formulas under their topics, in the order given.
func Formulas(formulas []*pb.Formula, o Options) string {
	if len(formulas) == 0 {
		return "no formulas\n"
	}
	p := o.page()
	const widestName = 24 // the few longer ones get a line of their own
	width := 0
	for _, f := range formulas {
		if w := layout.Width(layout.Clean(f.GetName())); w <= widestName {
			width = max(width, w)
		}
	}
	width = min(width+columnGap, p.Width/2)
	topic := ""
	for i, f := range formulas {
		if i == 0 || f.GetTopic() != topic {
			topic = f.GetTopic()
			if i > 0 {
				p.Blank()
			}
			p.Line(p.Ink.Write(layout.Bold, strings.ToUpper(layout.Clean(topic))))
		}
		p.Hang(2, layout.Clean(f.GetName()), width, layout.Bold, f.GetDescription(), "")
	}
	p.Blank()
	p.Text(0, layout.Dim, "snapgauge calc FORMULA tells what goes into one and how to ask for it.")
	return p.String()
}

// Formula explains one formula: what goes in, what comes out, whence, and how to
// ask for it.
func Formula(f *pb.Formula, o Options) string {
	p := o.page()
	titled(p, "", 0, f.GetName(), f.GetTopic())
	p.Text(0, "", f.GetDescription())
	if len(f.GetInputs()) > 0 {
		title(p, "inputs")
		var rows []explained
		for _, in := range f.GetInputs() {
			rows = append(rows, explained{layout.Clean(in.GetName()), takes(in), sentences(in.GetDescription(), inputNotes(in))})
		}
		explainAll(p, 2, rows)
	}
	title(p, "results")
	var rows []explained
	for _, r := range f.GetResults() {
		rows = append(rows, explained{layout.Clean(r.GetName()), symbol(r.GetUnit(), "text"), r.GetDescription()})
	}
	explainAll(p, 2, rows)
	p.Blank()
	if f.GetCaution() != "" {
		p.Note(0, "caution:", layout.Bold, f.GetCaution())
	}
	p.Note(0, "source:", layout.Dim, f.GetSource())
	if len(f.GetInputs()) > 0 {
		p.Blank()
		p.Note(0, "ask:", layout.Dim, example(f))
	}
	return p.String()
}

// takes says what an input is written in.
func takes(in *pb.FormulaInput) string {
	if len(in.GetChoices()) > 0 {
		return "choice"
	}
	return symbol(in.GetUnit(), "text")
}

// inputNotes says how an input may be given.
func inputNotes(in *pb.FormulaInput) string {
	var notes []string
	if len(in.GetChoices()) > 0 {
		notes = append(notes, "One of: "+strings.Join(in.GetChoices(), ", "))
	}
	if in.GetRepeated() {
		notes = append(notes, "Several are joined by commas")
	}
	switch {
	case in.GetDefaultText() != "":
		notes = append(notes, "Left out, it is "+in.GetDefaultText())
	case in.GetOptional() && !strings.Contains(strings.ToLower(in.GetDescription()), "left out"):
		notes = append(notes, "May be left out")
	}
	return sentences(notes...)
}

// sentences joins texts, each with a full stop where it has none.
func sentences(texts ...string) string {
	var said []string
	for _, t := range texts {
		if t = layout.Clean(t); t == "" {
			continue
		}
		if !strings.HasSuffix(t, ".") {
			t += "."
		}
		said = append(said, t)
	}
	return strings.Join(said, " ")
}

// symbol is how a unit is printed: of a plain number, "number"; of what has no
// unit, the word given.
func symbol(code, none string) string {
	if code == "" {
		return none
	}
	unit, err := quantity.ParseUnit(code)
	switch {
	case err != nil:
		return code
	case unit.Symbol() == "":
		return "number"
	}
	return unit.Symbol()
}

// example is a command line that asks for the formula, with a place for each
// input that is needed.
func example(f *pb.Formula) string {
	line := "snapgauge calc " + f.GetName()
	for _, in := range f.GetInputs() {
		if !in.GetOptional() {
			line += " " + in.GetName() + "=…"
		}
	}
	return line
}

// Calculation writes a formula worked out: its name, what went in, what came out,
// whence, and what to beware of.
func Calculation(c *pb.Calculation, o Options) string {
	p := o.page()
	titled(p, "", 0, c.GetFormula(), "")
	p.Text(0, "", c.GetDescription())
	for _, part := range []struct {
		title  string
		values []*pb.CalculatedValue
	}{{"inputs", c.GetInputs()}, {"results", c.GetResults()}} {
		if len(part.values) == 0 {
			continue
		}
		title(p, part.title)
		var rows []explained
		for _, v := range part.values {
			rows = append(rows, explained{layout.Clean(v.GetName()), v.GetText(), v.GetDescription()})
		}
		explainAll(p, 2, rows)
	}
	p.Blank()
	if c.GetCaution() != "" {
		p.Note(0, "caution:", layout.Bold, c.GetCaution())
	}
	p.Note(0, "source:", layout.Dim, c.GetSource())
	return p.String()
}
