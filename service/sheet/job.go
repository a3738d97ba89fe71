package sheet

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// Job makes the sheet that is filled in at the bench: what is needed, what was
// worked out for this job, and every step with its target and boxes for what is
// read. The plan is not changed and may be reused.
func Job(plan *pb.JobPlan, opt Options) *Sheet {
	return newJob(plan, nil, opt).sheet("Job sheet")
}

// JobFilled makes the same sheet with its boxes filled in from a record, and
// marks the readings in the drawings. What the record has beyond the plan stands
// at the end. The VIN is the record's. Times are in the zone of opt.Made.
func JobFilled(plan *pb.JobPlan, rec *pb.SetupRecord, opt Options) *Sheet {
	opt.VIN = rec.GetUnit().GetVin()
	return newJob(plan, rec, opt).sheet("Job sheet, filled in")
}

// job gathers what a job sheet is made from.
type job struct {
	plan     *pb.JobPlan
	rec      *pb.SetupRecord // nil for a sheet to be filled in
	opt      Options
	byID     map[string]*pb.Characteristic
	readings readings
}

func newJob(plan *pb.JobPlan, rec *pb.SetupRecord, opt Options) *job {
	j := &job{plan: plan, rec: rec, opt: opt, byID: map[string]*pb.Characteristic{}}
	if opt.Specified != nil {
		for _, c := range opt.Specified.Characteristics {
			j.byID[c.GetId()] = c
		}
	}
	if rec != nil {
		j.readings = readingsOf(rec)
	}
	return j
}

func (j *job) sheet(kind string) *Sheet {
	s := &Sheet{
		opt:     j.opt,
		kind:    kind,
		machine: j.plan.GetMachine(),
		vin:     j.opt.VIN,
		origin:  revisionWords(j.plan.GetSpecRevision(), j.plan.GetDigest()),
	}
	if j.plan.GetInvented() {
		s.add(inventedBanner())
	}
	s.add(j.head())
	if cautions := j.plan.GetCautions(); len(cautions) > 0 {
		s.add(cautionsCallout("Cautions", cautions))
	}
	j.needed(s)
	j.workedOut(s)
	j.steps(s)
	if j.rec != nil {
		j.beyond(s)
		j.instruments(s)
		return s
	}
	s.add(heading{"Remarks"}, facts{items: []fact{{blank: true, wide: true}, {blank: true, wide: true}, {blank: true, wide: true}}})
	s.add(signatures{labels: []string{"Work done by, date", "Checked by, date"}})
	return s
}

// head says what the job is, with places for what only the bench knows.
func (j *job) head() block {
	f := facts{items: []fact{vinFact(j.opt.VIN)}}
	words := func(label, value string) { f.items = append(f.items, fact{label: label, value: value}) }
	blank := func(label string) { f.items = append(f.items, fact{label: label, blank: true}) }
	words("Occasion", phrase.UpperFirst(phrase.Phase(j.plan.GetPhase())))
	if j.rec == nil {
		blank("Job number")
		blank("Date")
		blank("Technician")
		blank("Odometer")
		blank("Running hours")
	} else {
		f.items = append(f.items, recordFacts(j.rec, j.opt)...)
	}
	if opts := j.plan.GetOptions(); len(opts) > 0 {
		named := make([]string, len(opts))
		for i, o := range opts {
			named[i] = strings.ReplaceAll(o, "_", " ")
		}
		f.items = append(f.items, fact{label: "Options fitted", value: phrase.UpperFirst(phrase.All(named)), wide: true})
	}
	return f
}

// needed lists what to lay out before work begins.
func (j *job) needed(s *Sheet) {
	if tools := j.plan.GetTools(); len(tools) > 0 {
		list := checklist{columns: 3}
		for _, t := range tools {
			list.items = append(list.items, plain(phrase.UpperFirst(t)))
		}
		s.add(heading{"Tools"}, list)
	}
	if used := j.plan.GetConsumables(); len(used) > 0 {
		list := checklist{columns: 2}
		for _, c := range used {
			t := text{{phrase.UpperFirst(c.GetName()), normal}}
			if c.GetAmount() != nil {
				t = append(t, span{", " + sayDual(c.GetAmount(), j.opt.Units), strong})
			}
			if c.GetPieces() > 0 {
				t = append(t, span{fmt.Sprintf(", %d off", c.GetPieces()), strong})
			}
			list.items = append(list.items, t)
		}
		s.add(heading{"Fluids and parts that are used up"}, list)
	}
}

// workedOut shows each calculation with what went in and what came out.
func (j *job) workedOut(s *Sheet) {
	if len(j.plan.GetCalculations()) == 0 {
		return
	}
	t := table{
		caption: "What was worked out for this job",
		columns: []column{{head: "What", width: 66}, {head: "From", width: 56}, {head: "Comes to", width: 57}},
	}
	for _, c := range j.plan.GetCalculations() {
		what := cell{names: true, parts: []part{styled(phrase.UpperFirst(phrase.Stop(orElse(c.GetDescription(), c.GetFormula()))), strong)}}
		about := strings.ReplaceAll(c.GetFormula(), "-", " ")
		if c.GetSource() != "" {
			about = strings.TrimPrefix(about+". Source: "+c.GetSource(), ". ")
		}
		if about != "" && about != c.GetDescription() {
			what.parts = append(what.parts, styled(phrase.UpperFirst(phrase.Stop(about)), small))
		}
		if c.GetCaution() != "" {
			what.parts = append(what.parts, caution(c.GetCaution()))
		}
		var from, to cell
		for _, v := range c.GetInputs() {
			from.parts = append(from.parts, styled(phrase.UpperFirst(valueName(v))+": "+v.GetText(), small))
		}
		for _, v := range c.GetResults() {
			// A result that is a sentence stands by itself.
			if utf8.RuneCountInString(v.GetText()) > 2*longTarget {
				to.parts = append(to.parts, plain(phrase.Stop(v.GetText())))
				continue
			}
			to.parts = append(to.parts, text{{phrase.UpperFirst(valueName(v)) + ": ", small}, {v.GetText(), strong}})
		}
		t.rows = append(t.rows, row{cells: []cell{what, from, to}})
	}
	s.add(heading{"Worked out for this job"}, t)
}

func valueName(v *pb.CalculatedValue) string {
	return strings.TrimSuffix(orElse(v.GetDescription(), v.GetName()), ".")
}

// The columns of the steps; the second names the place on the machine.
func stepColumns(place string) []column {
	return []column{
		{head: "No.", width: 8.5},
		{head: place, place: true, width: 61.5},
		{head: "Target", width: 35},
		{head: "As found", width: 16.5},
		{head: "As left", width: 16.5},
		{head: "Instrument", width: 17},
		{head: "Time", width: 12},
		{head: "Initials", width: 12},
	}
}

// The widths of drawings in the steps, in millimetres.
const (
	adjusterInStep = 56.0
	tankInStep     = 93.0
	barInStep      = 56.0
)

// steps gives a table to each place, in the order of the plan. A place that is
// come back to has another one.
func (j *job) steps(s *Sheet) {
	if len(j.plan.GetSteps()) == 0 {
		return
	}
	s.add(heading{"Steps"})
	if j.rec == nil {
		s.add(paragraph{text: styled("Write down what is found before anything is changed, and what is left after the work. Where nothing was changed, one value is enough.", small), leads: true})
	} else {
		s.add(paragraph{text: markKey, leads: true})
	}
	var current table
	place := ""
	flush := func() {
		if len(current.rows) > 0 {
			s.add(current)
		}
	}
	for i, step := range j.plan.GetSteps() {
		if i == 0 || step.GetPlace() != place {
			flush()
			place = step.GetPlace()
			said := orElse(phrase.UpperFirst(place), "Elsewhere")
			current = table{caption: "Steps: " + said, columns: stepColumns(said)}
		}
		current.rows = append(current.rows, j.step(step))
	}
	flush()
}

// step is one step's row.
func (j *job) step(step *pb.PlanStep) row {
	c := j.byID[step.GetCharacteristic()]
	numeric := step.GetTarget() != nil || step.GetLower() != nil || step.GetUpper() != nil
	r := row{cells: []cell{{names: true, parts: []part{styled(strconv.Itoa(int(step.GetNumber())), strong)}}}}

	name := styled(step.GetDisplayName(), strong)
	target, rest := targetParts(step.GetTargetText(), numeric)
	details := stepDetails(step)
	about := "" // below the name
	switch {
	case rest == "":
	case utf8.RuneCountInString(rest) > longRest:
		about = phrase.UpperFirst(phrase.Stop(strings.TrimPrefix(rest, "of ")))
	default:
		target = append(target, styled(rest, small))
	}
	found, left := j.readings.pair(c, j.opt.Units)
	var picture *Drawing
	if t, ok := tankOf(c, j.opt.Units); ok {
		if picture = t.draw(found, left, tankInStep); picture != nil {
			details = append([]text{styled(t.words(found, left), small)}, details...)
		}
	} else if c.GetAdjuster() != nil {
		picture = adjusterScale(c, found, left, adjusterInStep, j.opt.Units)
	} else if s, ok := subjectOf(c, j.opt.Units); ok && (found.known || left.known) {
		picture = limitBar(s, found, left, barInStep)
	}
	what := cell{span: 2}
	if !numeric && utf8.RuneCountInString(step.GetTargetText()) > longTarget {
		what.parts = append([]part{name}, target...)
	} else {
		beside := pair{left: []part{name}, right: target}
		if about != "" {
			beside.left = append(beside.left, styled(about, small))
		}
		if picture != nil && picture.width <= barInStep {
			beside.left = append(beside.left, picture)
			picture = nil
		}
		// What is short finds room beside a target.
		if len(beside.left) == 1 && picture == nil && len(details) > 0 && numeric && utf8.RuneCountInString(details[0].String()) <= shortDetail {
			beside.left = append(beside.left, details[0])
			details = details[1:]
		}
		what.parts = []part{beside}
	}
	if picture != nil {
		what.parts = append(what.parts, picture)
	}
	for _, d := range details {
		what.parts = append(what.parts, d)
	}
	r.cells = append(r.cells, what)
	return row{cells: append(r.cells, j.boxes(step, c, numeric)...)}
}

// longTarget is the number of characters from which a target that is no number
// is set below the name and not beside it.
const longTarget = 24

// longRest is the number of characters from which what follows a target's limits
// is set over the width of both columns.
const longRest = 48

// shortDetail is the number of characters up to which a detail is set beside the
// target.
const shortDetail = 84

// targetParts sets a target's value large, with its limits below, and returns what
// else the phrase says:
// "450 mL (400 to 480 mL) of oil", "3 turns out from fully in (1 to 6 turns)",
// "18 N·m (16 to 20 N·m), M8x1.25".
func targetParts(said string, numeric bool) (parts []part, rest string) {
	if !numeric {
		return []part{plain(phrase.UpperFirst(said))}, ""
	}
	for _, bound := range []string{"at most ", "at least "} {
		if value, ok := strings.CutPrefix(said, bound); ok {
			value, rest := cutValue(value)
			return []part{text{{bound, normal}, {value, big}}}, trimRest(rest)
		}
	}
	value, rest := cutValue(said)
	if utf8.RuneCountInString(value) > longTarget {
		return []part{styled(said, strong)}, ""
	}
	parts = []part{styled(value, big)}
	limits := ""
	if after, ok := strings.CutPrefix(rest, " ("); ok {
		limits, rest, _ = strings.Cut(after, ")")
	} else if before, last := strings.LastIndex(rest, " ("), strings.HasSuffix(rest, ")"); last && before >= 0 {
		rest, limits = rest[:before], rest[before+2:len(rest)-1]
	}
	if limits != "" {
		parts = append(parts, plain(limits))
	}
	return parts, trimRest(rest)
}

// cutValue splits a phrase after the value that it begins with.
func cutValue(said string) (value, rest string) {
	at := len(said)
	for _, next := range []string{" (", ", ", " of ", " in from ", " out from "} {
		if i := strings.Index(said, next); i >= 0 {
			at = min(at, i)
		}
	}
	return said[:at], said[at:]
}

func trimRest(rest string) string { return strings.TrimSpace(strings.TrimPrefix(rest, ", ")) }

// stepDetails is what stands below a step's name: texts only.
func stepDetails(step *pb.PlanStep) []text {
	var parts []text
	var how []string
	if len(step.GetConditions()) > 0 {
		how = append(how, "With "+phrase.All(step.GetConditions())+".")
	}
	if step.GetMethod() != "" {
		how = append(how, phrase.Stop(step.GetMethod()))
	}
	if step.GetComputedBy() != "" {
		how = append(how, "Worked out: "+phrase.Stop(step.GetComputedBy()))
	}
	var first text
	if len(how) > 0 {
		first = append(first, span{strings.Join(how, " ") + " ", small})
	}
	if len(step.GetTools()) > 0 {
		first = append(first, span{"Tools: ", smallStrong}, span{phrase.Stop(phrase.All(step.GetTools())) + " ", small})
	}
	if after := step.GetAfter(); len(after) > 0 {
		numbers := make([]string, len(after))
		for i, n := range after {
			numbers[i] = strconv.Itoa(int(n))
		}
		word := "After step "
		if len(after) > 1 {
			word = "After steps "
		}
		first = append(first, span{word + phrase.All(numbers) + ". ", small})
	}
	if n := len(first); n > 0 {
		first[n-1].text = strings.TrimSpace(first[n-1].text)
		parts = append(parts, first)
	}
	if step.GetCaution() != "" {
		c := caution(step.GetCaution())
		if step.GetSeverity() == pb.Severity_SEVERITY_SAFETY {
			c[1].text = "Safety. "
		}
		parts = append(parts, c)
	}
	return parts
}

// boxes are the places to write in, or what was written there.
func (j *job) boxes(step *pb.PlanStep, c *pb.Characteristic, numeric bool) []cell {
	found, left := j.readings.of(step.GetCharacteristic())
	cells := make([]cell, 5)
	for i := range cells {
		cells[i].box = true
	}
	if c.GetInspection() != nil || c == nil && !numeric {
		if j.rec == nil || found != nil {
			cells[0].parts = []part{rightOrWrong(found)}
		}
		if j.rec == nil || left != nil {
			cells[1].parts = []part{rightOrWrong(left)}
		}
	} else if j.rec != nil {
		cells[0].parts = j.written(found, c)
		cells[1].parts = j.written(left, c)
	}
	if j.rec == nil {
		return cells
	}
	if found != nil && left == nil {
		cells[1].parts = []part{styled("unchanged", small)}
	}
	last := left
	if last == nil {
		last = found
	}
	if last == nil {
		cells[1].parts = []part{styled("not read", small)}
		return cells
	}
	write := func(i int, s string) {
		if s != "" {
			cells[i].parts = []part{styled(s, small)}
		}
	}
	write(2, last.GetInstrument())
	if last.GetTime() != nil {
		write(3, last.GetTime().AsTime().In(j.opt.Made.Location()).Format("15:04 MST"))
	}
	write(4, orElse(last.GetTechnician(), j.rec.GetTechnician()))
	return cells
}

// rightOrWrong are the boxes of an inspection; a nil reading leaves both open.
func rightOrWrong(r *pb.Reading) ticks {
	_, answered := r.GetResult().(*pb.Reading_Pass)
	return ticks{
		{label: "right", ticked: answered && r.GetPass()},
		{label: "wrong", ticked: answered && !r.GetPass()},
	}
}

func (j *job) written(r *pb.Reading, c *pb.Characteristic) []part {
	if said := sayReading(r, c, j.opt.Units); said != "" {
		return []part{styled(said, smallStrong)}
	}
	return nil
}

// beyond lists readings that are no step of the plan.
func (j *job) beyond(s *Sheet) {
	planned := map[string]bool{}
	for _, step := range j.plan.GetSteps() {
		planned[step.GetCharacteristic()] = true
	}
	t := table{
		caption: "Readings that are not in the plan",
		columns: []column{{head: "What", width: 80}, {head: "As found", width: 45}, {head: "As left", width: 45}},
	}
	for _, id := range j.readings.order {
		if planned[id] {
			continue
		}
		found, left := j.readings.of(id)
		c := j.byID[id]
		name := orElse(c.GetDisplayName(), phrase.UpperFirst(strings.ReplaceAll(id, "_", " ")))
		t.rows = append(t.rows, row{cells: []cell{
			{names: true, parts: []part{styled(name, strong)}},
			{parts: []part{plain(sayReading(found, c, j.opt.Units))}},
			{parts: []part{plain(sayReading(left, c, j.opt.Units))}},
		}})
	}
	if len(t.rows) > 0 {
		s.add(heading{"Also read"}, t)
	}
}

// instruments lists what was measured with, and how well it is known.
func (j *job) instruments(s *Sheet) {
	if len(j.rec.GetInstruments()) == 0 {
		return
	}
	t := table{
		caption: "Instruments",
		columns: []column{{head: "Name", width: 40}, {head: "What it is", width: 50}, {head: "Accuracy", width: 55}, {head: "Calibrated until", width: 34}},
	}
	for _, in := range j.rec.GetInstruments() {
		until := "not stated"
		if in.GetCalibrationExpireTime() != nil {
			until = in.GetCalibrationExpireTime().AsTime().In(j.opt.Made.Location()).Format("2006-01-02")
		}
		t.rows = append(t.rows, row{cells: []cell{
			{names: true, parts: []part{styled(in.GetId(), strong)}},
			{parts: []part{plain(phrase.UpperFirst(instrumentWords(in.GetKind())))}},
			{parts: []part{plain(accuracyWords(in))}},
			{parts: []part{plain(until)}},
		}})
	}
	s.add(heading{"Instruments"}, t)
}

// vinFact is the VIN, or boxes to write it in.
func vinFact(vin string) fact {
	if vin != "" {
		return fact{label: "VIN", value: vin, wide: true}
	}
	const n, w, h = 17, 7.0, 7.0
	d := newDrawing(n*w+0.4, h+0.4, "17 boxes for the vehicle identification number")
	d.rect(0.2, 0.2, n*w, h, pen, black, none)
	for i := 1; i < n; i++ {
		x := 0.2 + float64(i)*w
		d.line(x, 0.2+h*0.45, x, 0.2+h, thinPen, black)
	}
	return fact{label: "VIN", drawing: d, wide: true}
}

func inventedBanner() callout {
	return callout{weight: loudCallout, title: "Demonstration data: not for a real machine", items: []text{
		plain("Maker, model and every figure on this sheet are invented. Set up no real machine by it."),
	}}
}

func cautionsCallout(title string, cautions []string) callout {
	c := callout{weight: cautionCallout, title: title}
	for _, s := range cautions {
		c.items = append(c.items, plain(phrase.Stop(s)))
	}
	return c
}

// markKey explains the marks of the drawings.
var markKey = text{
	{"In the drawings a round mark is inside the limits and a triangle is outside; an open mark is as found and a filled one is as left. The shaded band lies between the limits, the thin line across it is the nominal value, and a bar through a mark is the measuring uncertainty.", small},
}

// revisionWords names a revision and the beginning of its digest.
func revisionWords(name, digest string) string {
	name = strings.TrimPrefix(name, "specs/")
	name = strings.Replace(name, "/revisions/", " revision ", 1)
	const shown = 12
	if len(digest) > shown {
		digest = digest[:shown]
	}
	return strings.TrimSpace(name + " " + digest)
}

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// finite says whether a value can be drawn.
func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
