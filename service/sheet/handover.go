package sheet

import (
	"fmt"
	"slices"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/spec"
)

// Handover makes the sheet that the customer keeps: how the machine was judged,
// what was found and put right, its settings as delivered, what is due at the
// first service, and what to beware of. The record was judged by the revision,
// resolved for its options and bulletins; the report has its outcomes
// (REPORT_VIEW_FULL). Nothing is changed.
func Handover(rev *spec.Revision, resolved *spec.Resolved, rec *pb.SetupRecord, report *pb.Report, opt Options) *Sheet {
	h := &handover{
		sheet:    rev.Sheet(),
		resolved: resolved,
		rec:      rec,
		report:   report,
		opt:      opt,
		readings: readingsOf(rec),
		outcomes: map[string]*pb.Outcome{},
	}
	for _, o := range report.GetOutcomes() {
		h.outcomes[o.GetCharacteristic()] = o
	}
	s := &Sheet{
		opt:     opt,
		kind:    "Handover sheet",
		machine: machineWords(rev.Sheet()),
		vin:     rec.GetUnit().GetVin(),
		origin:  revisionWords(rev.Name(), rev.Digest()),
	}
	if rev.Sheet().GetInvented() {
		s.add(inventedBanner())
	}
	s.add(h.head(), h.verdict(), h.keep())
	h.open(s)
	h.putRight(s)
	h.settings(s)
	h.firstService(s)
	h.cautions(s)
	s.add(signatures{labels: []string{"Handed over by, date", "Received by, date"}})
	return s
}

type handover struct {
	sheet    *pb.SpecSheet
	resolved *spec.Resolved
	rec      *pb.SetupRecord
	report   *pb.Report
	opt      Options
	readings readings
	outcomes map[string]*pb.Outcome
}

// machineWords is maker, model, year and market in words.
func machineWords(s *pb.SpecSheet) string {
	return fmt.Sprintf("%s %s, %d, %s", s.GetMake(), s.GetModel(), s.GetModelYear(), s.GetMarket())
}

func (h *handover) head() block {
	f := facts{items: []fact{vinFact(h.rec.GetUnit().GetVin())}}
	f.items = append(f.items, fact{label: "Occasion", value: phrase.UpperFirst(phrase.Phase(h.rec.GetPhase()))})
	f.items = append(f.items, recordFacts(h.rec, h.opt)...)
	if len(h.rec.GetOptions()) > 0 {
		var named []string
		for _, id := range h.rec.GetOptions() {
			name := strings.ReplaceAll(id, "_", " ")
			if o := h.option(id); o != nil {
				name = phrase.LowerFirst(o.GetDisplayName())
			}
			named = append(named, name)
		}
		f.items = append(f.items, fact{label: "Options fitted", value: phrase.UpperFirst(phrase.All(named)), wide: true})
	}
	return f
}

func (h *handover) option(id string) *pb.Option {
	for _, o := range h.sheet.GetOptions() {
		if o.GetId() == id {
			return o
		}
	}
	return nil
}

// verdict says the verdict in plain words.
func (h *handover) verdict() block {
	c := callout{weight: verdictCallout}
	say := func(title, words string) {
		c.title = title
		c.items = []text{plain(words)}
	}
	switch h.report.GetVerdict() {
	case pb.Verdict_VERDICT_ACCEPT:
		say("Accepted", "What had to be set and checked was, and the record shows that it is as specified.")
	case pb.Verdict_VERDICT_REJECT:
		say("Not accepted", "Something is not as specified. The machine is not to be ridden until it has been put right.")
	case pb.Verdict_VERDICT_INCOMPLETE:
		say("Not complete", "Nothing is known to be wrong, but something that must be checked has not been.")
	case pb.Verdict_VERDICT_REFER:
		say("To be decided", "Nothing is known to be wrong, but a reading is too near to a limit, or not certain enough. A person decides, or it is measured again with a better instrument.")
	default:
		say("Not judged", "There is no verdict.")
	}
	t := h.report.GetTally()
	var parts []string
	count := func(n int32, words string) {
		if n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, words))
		}
	}
	count(t.GetConforming(), "as specified")
	count(t.GetNonconforming(), "not as specified")
	count(t.GetUndecided(), "undecided")
	count(t.GetMissing(), "missing")
	if len(parts) > 0 {
		c.items[0] = append(c.items[0], span{" " + phrase.UpperFirst(strings.Join(parts, ", ")) + ".", small})
	}
	return c
}

func (h *handover) keep() block {
	next := "first"
	if h.rec.GetPhase() >= pb.Phase_PHASE_FIRST_SERVICE {
		next = "next"
	}
	words := "Keep it with the machine's papers. It says how the machine was when it was handed over, and the workshop will want it at the " + next + " service."
	return callout{weight: plainCallout, title: "Keep this sheet", items: []text{plain(words)}}
}

// open lists the findings: what is still to be done.
func (h *handover) open(s *Sheet) {
	if len(h.report.GetFindings()) == 0 {
		return
	}
	t := table{
		caption: "What is still open",
		columns: []column{{head: "What it can do", width: 30}, {head: "What was found, and what to do", width: 149}},
	}
	for _, f := range h.report.GetFindings() {
		what := cell{parts: []part{styled(f.GetMessage(), strong)}}
		if f.GetRemedy().GetText() != "" {
			what.parts = append(what.parts, plain(f.GetRemedy().GetText()))
		}
		if f.GetCaution() != "" {
			what.parts = append(what.parts, caution(f.GetCaution()))
		}
		if f.GetSource() != "" {
			what.parts = append(what.parts, styled("Source: "+phrase.Stop(f.GetSource()), small))
		}
		t.rows = append(t.rows, row{cells: []cell{{names: true, parts: []part{severityParts(f.GetSeverity())}}, what}})
	}
	s.add(heading{"Still open"}, t)
}

func severityParts(severity pb.Severity) text {
	switch severity {
	case pb.Severity_SEVERITY_SAFETY:
		return text{{cautionMark + " ", mark}, {"Can hurt someone", strong}}
	case pb.Severity_SEVERITY_DAMAGE:
		return styled("Can ruin the machine", strong)
	case pb.Severity_SEVERITY_FUNCTION:
		return plain("Will not work right")
	}
	return plain("Paperwork")
}

const barWidth = 48.0

// putRight lists what was changed: as found and as left.
func (h *handover) putRight(s *Sheet) {
	t := table{
		caption: "What was found and put right",
		columns: []column{{head: "What", width: 56}, {head: "As found", width: 35}, {head: "As left", width: 35}, {head: "Between its limits", width: 53}},
	}
	for _, c := range h.resolved.Characteristics {
		found, left := h.readings.of(c.GetId())
		if found == nil || left == nil {
			continue
		}
		was, is := sayReading(found, c, h.opt.Units), sayReading(left, c, h.opt.Units)
		if was == is {
			continue
		}
		picture := cell{}
		foundValue, leftValue := h.readings.pair(c, h.opt.Units)
		if d := h.picture(c, foundValue, leftValue); d != nil {
			picture.parts = []part{d}
		}
		t.rows = append(t.rows, row{cells: []cell{
			{names: true, parts: []part{styled(c.GetDisplayName(), strong)}},
			{parts: []part{plain(was)}},
			{parts: []part{styled(is, strong)}},
			picture,
		}})
	}
	if len(t.rows) > 0 {
		s.add(heading{"Found and put right"}, t)
	}
}

// picture is the drawing that suits a characteristic in a row.
func (h *handover) picture(c *pb.Characteristic, found, left reading) *Drawing {
	if c.GetAdjuster() != nil {
		return adjusterScale(c, found, left, barWidth, h.opt.Units)
	}
	if s, ok := subjectOf(c, h.opt.Units); ok {
		return limitBar(s, found, left, barWidth)
	}
	return nil
}

// settings lists what was read, place by place.
func (h *handover) settings(s *Sheet) {
	var blocks []block
	for _, place := range h.places() {
		said := phrase.UpperFirst(phrase.Place(place))
		t := table{
			caption: "Settings as delivered: " + said,
			columns: []column{{head: said, place: true, width: 56}, {head: "As specified", width: 41}, {head: "As delivered", width: 29}, {head: "Between its limits", width: 53}},
		}
		var right []string
		var figures []block
		for _, c := range h.resolved.Characteristics {
			o := h.outcomes[c.GetId()]
			if c.GetGroup() != place || h.readings.standing(c.GetId()) == nil || o == nil {
				continue
			}
			if c.GetInspection() != nil && o.GetKind() == pb.OutcomeKind_OUTCOME_KIND_CONFORMING {
				right = append(right, phrase.LowerFirst(c.GetDisplayName()))
				continue
			}
			t.rows = append(t.rows, h.setting(c, o))
			if tk, ok := tankOf(c, h.opt.Units); ok {
				found, left := h.standingPair(c)
				if d := tk.draw(found, left, tankWidth); d != nil {
					figures = append(figures, figure{drawing: d, caption: text{{c.GetDisplayName() + ". ", smallStrong}, {tk.words(found, left), small}}})
				}
			}
		}
		if len(right) > 0 {
			t.rows = append(t.rows, row{cells: []cell{
				{names: true, parts: []part{plain("Looked at and right")}},
				{span: 3, parts: []part{plain(phrase.UpperFirst(strings.Join(right, "; ")) + ".")}},
			}})
		}
		if len(t.rows) > 0 {
			if !slices.ContainsFunc(t.rows, func(r row) bool { return len(r.cells) == 4 && len(r.cells[3].parts) > 0 }) {
				t.columns[3].head = ""
			}
			blocks = append(blocks, t)
		}
		blocks = append(blocks, figures...)
	}
	if len(blocks) == 0 {
		return
	}
	s.add(heading{"Settings as delivered"}, paragraph{text: markKey, leads: true})
	s.add(blocks...)
}

const tankWidth = 150.0

// places are the places on the machine in the order of the job.
func (h *handover) places() []pb.Group {
	var out []pb.Group
	for _, c := range h.resolved.Characteristics {
		if !slices.Contains(out, c.GetGroup()) {
			out = append(out, c.GetGroup())
		}
	}
	return out
}

// standingPair is the pair of readings to draw: one as found alone stands as
// left.
func (h *handover) standingPair(c *pb.Characteristic) (found, left reading) {
	found, left = h.readings.pair(c, h.opt.Units)
	if !left.known {
		return reading{}, found
	}
	return found, left
}

// setting is the row of one characteristic.
func (h *handover) setting(c *pb.Characteristic, o *pb.Outcome) row {
	standing := h.readings.standing(c.GetId())
	value := cell{parts: []part{styled(sayReading(standing, c, h.opt.Units), strong)}}
	switch o.GetKind() {
	case pb.OutcomeKind_OUTCOME_KIND_NONCONFORMING:
		value.parts = append(value.parts, text{{cautionMark + " ", mark}, {"not as specified", small}})
	case pb.OutcomeKind_OUTCOME_KIND_UNDECIDED:
		value.parts = append(value.parts, styled("undecided", small))
	}
	name := cell{names: true, parts: []part{plain(c.GetDisplayName())}}
	if fluid := c.GetCapacity().GetFluid(); fluid != "" {
		name.parts = append(name.parts, styled(phrase.UpperFirst(fluid), small))
	}
	wanted := cell{parts: []part{plain(h.wanted(c))}}
	_, left := h.standingPair(c)
	picture := h.picture(c, reading{}, left)
	drawn := cell{}
	if picture != nil {
		drawn.parts = []part{picture}
	}
	return row{cells: []cell{name, wanted, value, drawn}}
}

// wanted says what is specified, short.
func (h *handover) wanted(c *pb.Characteristic) string {
	switch c.GetKind().(type) {
	case *pb.Characteristic_Identifier:
		return ""
	case *pb.Characteristic_Adjuster, *pb.Characteristic_Capacity:
		// The drawing says where it is counted from, and the name what goes in.
		if s, ok := subjectOf(c, h.opt.Units); ok {
			return s.sayTarget()
		}
	}
	return specified(c, h.opt.Units)
}

// firstService lists what is due at the first service, unless that is past.
func (h *handover) firstService(s *Sheet) {
	if h.rec.GetPhase() >= pb.Phase_PHASE_FIRST_SERVICE {
		return
	}
	list := checklist{columns: 2}
	for _, c := range h.resolved.Characteristics {
		if !slices.Contains(c.GetRequiredIn(), pb.Phase_PHASE_FIRST_SERVICE) {
			continue
		}
		t := text{{c.GetDisplayName(), strong}}
		if said := specified(c, h.opt.Units); said != "" && c.GetIdentifier() == nil {
			t = append(t, span{": " + phrase.Stop(said), small})
		}
		list.items = append(list.items, t)
	}
	if len(list.items) == 0 {
		return
	}
	s.add(heading{"Due at the first service"},
		paragraph{text: plain("After about ten running hours a new machine has settled. These are then checked again:"), leads: true},
		list)
}

// cautions gathers those of the machine and of the options fitted.
func (h *handover) cautions(s *Sheet) {
	cautions := slices.Clone(h.sheet.GetCautions())
	for _, id := range h.resolved.Options {
		if o := h.option(id); o.GetCaution() != "" {
			cautions = append(cautions, o.GetDisplayName()+": "+o.GetCaution())
		}
	}
	if len(cautions) > 0 {
		s.add(cautionsCallout("Beware", cautions))
	}
}
