package render

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// Planned is a plan with what was asked for: the plan itself does not say for
// whom it was made.
type Planned struct {
	Request *pb.PlanSetupRequest
	Plan    *pb.JobPlan
	// Full says how each step is done, what it comes after and where it is
	// specified, and the sources of the computed figures.
	Full bool
}

// Plan writes a job in the order in which it is done: the head, the steps under
// the places on the machine, then tools, consumables and computed figures.
func Plan(j Planned, o Options) string {
	p := o.page()
	planHead(p, j, o)
	width := 0
	for _, s := range j.Plan.GetSteps() {
		width = max(width, len(strconv.Itoa(int(s.GetNumber()))))
	}
	place := ""
	for i, s := range j.Plan.GetSteps() {
		if i == 0 || s.GetPlace() != place {
			place = s.GetPlace()
			title(p, place)
		}
		planStep(p, s, width, j.Full)
	}
	if tools := j.Plan.GetTools(); len(tools) > 0 {
		title(p, "tools")
		inColumns(p, 2, tools)
	}
	consumables(p, j.Plan, o)
	if calculations := j.Plan.GetCalculations(); len(calculations) > 0 {
		title(p, "computed figures")
		for i, c := range calculations {
			if i > 0 {
				p.Blank()
			}
			computed(p, c, j.Full)
		}
	}
	return p.String()
}

// planHead says what job it is, of which machine and for whom. Its first line
// says most by itself.
func planHead(p *layout.Page, j Planned, o Options) {
	plan := j.Plan
	steps := strconv.Itoa(len(plan.GetSteps())) + " steps"
	if len(plan.GetSteps()) == 1 {
		steps = "1 step"
	}
	p.Text(0, layout.Bold, plan.GetMachine()+": "+join(", ", phrase.Phase(plan.GetPhase()), steps))
	p.Text(0, layout.Dim, join(", ",
		revision(plan.GetSpecRevision()), "as of "+day(plan.GetAsOfTime()),
		prefixed("with ", strings.Join(plan.GetOptions(), " and ")), prefixed("VIN ", strings.ToUpper(j.Request.GetVin()))))
	if for_ := plannedFor(j.Request, o); for_ != "" {
		p.Text(0, "", "for "+for_)
	}
	if plan.GetInvented() {
		p.Text(0, layout.Yellow, "demonstration data, invented: set up no real machine by it")
	}
	for _, c := range plan.GetCautions() {
		p.Note(0, "caution:", layout.Bold, c)
	}
}

// plannedFor says rider, air and use.
func plannedFor(r *pb.PlanSetupRequest, o Options) string {
	var parts []string
	if rider := r.GetRider(); rider != nil {
		said := "a rider of " + measure(rider.GetMassKg(), "kg", o)
		if rider.GetGearMassKg() > 0 {
			said += " with " + measure(rider.GetGearMassKg(), "kg", o) + " of gear"
		}
		parts = append(parts, said)
	}
	if air := r.GetAmbient(); air != nil {
		parts = append(parts, fmt.Sprintf("air of %s at %s and %s humidity",
			measure(air.GetTemperatureC(), "Cel", o), altitude(air.GetAltitudeM(), o), measure(air.GetHumidityPercent(), "%", o)))
	}
	if r.GetIntendedUse() != pb.IntendedUse_INTENDED_USE_UNSPECIFIED {
		parts = append(parts, phrase.Words(r.GetIntendedUse())+" use")
	}
	return strings.Join(parts, "; ")
}

// measure says a value of one unit as the reader knows it.
func measure(v float64, code string, o Options) string {
	unit := quantity.MustUnit(code)
	return inUnit(v, unit, unit.In(o.Units, v))
}

// altitude stays in metres or feet, however low it is.
func altitude(v float64, o Options) string {
	shown := quantity.MustUnit("m")
	if o.Units == quantity.USCustomary {
		shown = quantity.MustUnit("[ft_i]")
	}
	return inUnit(v, quantity.MustUnit("m"), shown)
}

func inUnit(v float64, unit, shown quantity.Unit) string {
	if converted, err := unit.Convert(v, shown); err == nil {
		v, unit = converted, shown
	}
	return value(v, unit, digits)
}

// planStep writes one step: its number and name, what to arrive at, under which
// conditions, with what tool, and what to beware of. What can hurt someone or ruin
// the machine is marked at the right.
func planStep(p *layout.Page, s *pb.PlanStep, numberWidth int, full bool) {
	number := strconv.Itoa(int(s.GetNumber()))
	indent := numberWidth + 2
	lead := strings.Repeat(" ", max(numberWidth-len(number), 0)) + number + "  "
	mark := ""
	switch s.GetSeverity() {
	case pb.Severity_SEVERITY_SAFETY, pb.Severity_SEVERITY_DAMAGE:
		mark = p.Ink.Write(severityStyle(s.GetSeverity()), phrase.Name(s.GetSeverity()))
	}
	titled(p, lead, indent, s.GetDisplayName(), mark)
	if s.GetTargetText() != "" {
		p.Text(indent, "", s.GetTargetText())
	}
	note := func(label, text string, style layout.Style) {
		if text != "" {
			p.Note(indent, label, style, text)
		}
	}
	note("computed:", s.GetComputedBy(), layout.Dim)
	note("with:", strings.Join(s.GetConditions(), ", "), layout.Dim)
	if full {
		note("after:", stepNumbers(s.GetAfter()), layout.Dim)
		note("how:", s.GetMethod(), layout.Dim)
	}
	note("tool:", strings.Join(s.GetTools(), ", "), layout.Dim)
	note("caution:", s.GetCaution(), layout.Bold)
	if full && s.GetSource() != "" {
		p.Text(indent, layout.Dim, s.GetSource())
	}
}

// stepNumbers says "step 3", "steps 3, 4 and 7".
func stepNumbers(numbers []int32) string {
	said := make([]string, len(numbers))
	for i, n := range numbers {
		said[i] = strconv.Itoa(int(n))
	}
	switch len(said) {
	case 0:
		return ""
	case 1:
		return "step " + said[0]
	}
	last := len(said) - 1
	return "steps " + strings.Join(said[:last], ", ") + " and " + said[last]
}

// consumables lists what is used up: how much, of what, in which steps.
func consumables(p *layout.Page, plan *pb.JobPlan, o Options) {
	if len(plan.GetConsumables()) == 0 {
		return
	}
	numbers := make(map[string]int32, len(plan.GetSteps()))
	for _, s := range plan.GetSteps() {
		numbers[s.GetCharacteristic()] = s.GetNumber()
	}
	title(p, "consumables")
	amounts := make([]string, len(plan.GetConsumables()))
	width := 0
	for i, c := range plan.GetConsumables() {
		switch {
		case c.GetAmount() != nil:
			amounts[i] = dual(c.GetAmount(), o.Units)
		case c.GetPieces() > 0:
			amounts[i] = fmt.Sprintf("%d ×", c.GetPieces())
		}
		width = max(width, layout.Width(amounts[i]))
	}
	for i, c := range plan.GetConsumables() {
		var steps []int32
		for _, id := range c.GetCharacteristics() {
			if n, ok := numbers[id]; ok {
				steps = append(steps, n)
			}
		}
		amount := strings.Repeat(" ", width-layout.Width(amounts[i])) + amounts[i]
		text := join("; ", c.GetName(), stepNumbers(steps))
		p.Hang(2, amount, width+columnGap, "", text, "")
	}
}

// computed writes a calculation in short: what it is about, what came out, and
// what went in.
func computed(p *layout.Page, c *pb.Calculation, full bool) {
	const indent = 2
	titled(p, "  ", indent, strings.TrimSuffix(c.GetDescription(), "."), c.GetFormula())
	var rows []explained
	for _, r := range c.GetResults() {
		rows = append(rows, explained{value: r.GetText(), meaning: r.GetDescription()})
	}
	explainAll(p, 2*indent, rows)
	var inputs []string
	for _, in := range c.GetInputs() {
		inputs = append(inputs, strings.ReplaceAll(in.GetName(), "_", " ")+" "+in.GetText())
	}
	if len(inputs) > 0 {
		p.Note(2*indent, "from:", layout.Dim, strings.Join(inputs, ", "))
	}
	if c.GetCaution() != "" {
		p.Note(2*indent, "caution:", layout.Bold, c.GetCaution())
	}
	if full && c.GetSource() != "" {
		p.Text(2*indent, layout.Dim, c.GetSource())
	}
}
