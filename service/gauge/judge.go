package gauge

import (
	"fmt"
	"slices"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/vin"
)

// run is the judging of one record.
type run struct {
	engine *Engine
	plan   *plan
	rec    *pb.SetupRecord
	opt    Options

	conditions  conditionSet
	instruments []instrument
	slots       []slot
	strays      []*pb.Reading // of characteristics that the plan does not have
	findings    []*pb.Finding
}

// judge works out the outcome of one characteristic.
func (r *run) judge(i int) {
	ck, s := &r.plan.checks[i], &r.slots[i]
	if s.reading == nil {
		if ck.requiredIn[r.rec.GetPhase()] || s.before.count > 0 {
			s.outcome = missing
			r.missingReading(ck)
		} else {
			s.outcome = notApplicable
		}
		return
	}
	// A quantity judged before may have found fault with this one already.
	s.worsen(conforming)
	if stage, n, ok := s.duplicated(); ok {
		s.worsen(undecided)
		r.duplicateReading(ck, stage, n)
		return
	}
	r.judgeTimes(i)
	if !r.judgeConditions(ck, s) || !r.judgePlausible(ck, s) || !r.judgeInstrument(ck, s) {
		s.worsen(undecided)
		return
	}
	s.stands = s.reading.GetResult() != nil
	switch ck.kind {
	case measured:
		r.judgeMeasured(ck, s)
	case capacity:
		r.judgeCapacity(ck, s)
	case fastener:
		r.judgeFastener(ck, s)
	case adjuster:
		r.judgeAdjuster(ck, s)
	case count:
		r.judgeCount(ck, s)
	case choice:
		r.judgeChoice(ck, s)
	case inspection:
		r.judgeInspection(ck, s)
	case identifier:
		r.judgeIdentifier(ck, s)
	}
}

func (r *run) missingWords(ck *check) string {
	if s := &r.slots[r.plan.index[ck.c.GetId()]]; s.before.count > 0 {
		return fmt.Sprintf("%s: read as found, and not again as left.", ck.name())
	}
	if !ck.requiredIn[r.rec.GetPhase()] {
		return fmt.Sprintf("%s: described without a torque.", ck.name())
	}
	return fmt.Sprintf("%s: no reading, required at %s.", ck.name(), phrase.Phase(r.rec.GetPhase()))
}

func (r *run) missingReading(ck *check) {
	f := r.find(pb.FindingCode_FINDING_CODE_MISSING_READING, ck, nil,
		r.missingWords(ck))
	text := ck.c.GetMethod()
	if text == "" {
		text = ck.c.GetInspection().GetCriterion()
	}
	if text == "" {
		text = "Read it and write it down"
	}
	f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_READ_AGAIN, ck, phrase.Stop(text))
	if ck.kind.numeric() {
		f.Remedy.Target = r.dualValue(ck, ck.target())
	}
}

func (r *run) duplicateReading(ck *check, stage pb.Stage, n int) {
	f := r.find(pb.FindingCode_FINDING_CODE_DUPLICATE_READING, ck, nil,
		fmt.Sprintf("%s: read %d times %s; none of them is used.", ck.name(), n, phrase.Words(stage)))
	f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_CORRECT_RECORD, ck,
		"Keep the reading that holds. A value before and one after the work are told apart by their stage.")
}

// judgePlausible refuses values that cannot be.
func (r *run) judgePlausible(ck *check, s *slot) bool {
	if !ck.kind.numeric() || s.reading.GetResult() == nil {
		return true
	}
	whole := ck.kind != count || s.value == float64(int64(s.value))
	if ck.possible.Contains(s.value) && whole {
		return true
	}
	message := fmt.Sprintf("%s: cannot be %s.", ck.name(), sayAsWritten(s.reading))
	if !whole {
		message = fmt.Sprintf("%s: a count cannot be %s.", ck.name(), sayAsWritten(s.reading))
	}
	f := r.find(pb.FindingCode_FINDING_CODE_IMPOSSIBLE_VALUE, ck, s, message)
	f.Measured = r.dualValue(ck, s.value)
	if whole {
		limit := nearest(ck.possible, s.value)
		f.Limit = r.dualValue(ck, limit)
		f.Excess = r.dualDifference(ck, abs(s.value-limit))
	}
	f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_READ_AGAIN, ck, "Read again, and look at the unit written down.")
	return false
}

func (r *run) judgeCount(ck *check, s *slot) {
	if ck.tolerance.Contains(s.value) {
		return
	}
	s.worsen(nonconforming)
	limit := nearest(ck.tolerance, s.value)
	f := r.find(pb.FindingCode_FINDING_CODE_WRONG_COUNT, ck, s,
		fmt.Sprintf("%s: %s, specified %s.", ck.name(), r.sayValue(ck, s.value), r.sayLimits(ck)))
	f.Measured, f.Limit = r.dualValue(ck, s.value), r.dualValue(ck, limit)
	f.Excess = r.dualDifference(ck, abs(s.value-limit))
	f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_SET, ck,
		ck.sheetRemedy(phrase.Sentence("Count again; there must be %s", r.sayLimits(ck))))
	f.Remedy.Target = r.dualValue(ck, ck.target())
}

func (r *run) judgeChoice(ck *check, s *slot) {
	seen := s.reading.GetChoice()
	if slices.ContainsFunc(ck.accepted, func(a string) bool { return spec.SameWord(a, seen) }) {
		return
	}
	s.worsen(nonconforming)
	f := r.find(pb.FindingCode_FINDING_CODE_WRONG_CHOICE, ck, s,
		fmt.Sprintf("%s: %q, specified %s.", ck.name(), seen, phrase.AnyQuoted(ck.accepted)))
	f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_REPLACE, ck, ck.sheetRemedy(phrase.Sentence("Fit or select %s", phrase.AnyQuoted(ck.accepted))))
}

func (r *run) judgeInspection(ck *check, s *slot) {
	if s.reading.GetPass() {
		return
	}
	s.worsen(nonconforming)
	f := r.find(pb.FindingCode_FINDING_CODE_INSPECTION_FAILED, ck, s,
		fmt.Sprintf("%s: failed. Wanted: %s", ck.name(), phrase.Stop(ck.c.GetInspection().GetCriterion())))
	f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_SET, ck, ck.sheetRemedy("Put it right and inspect again."))
}

func (r *run) judgeIdentifier(ck *check, s *slot) {
	if ck.pattern.MatchString(s.reading.GetText()) {
		return
	}
	s.worsen(nonconforming)
	f := r.find(pb.FindingCode_FINDING_CODE_WRONG_IDENTIFIER, ck, s,
		fmt.Sprintf("%s: %q does not have the form that this model has.", ck.name(), s.reading.GetText()))
	f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_CORRECT_RECORD, ck,
		"Read it off again, character by character; if it is right, ask the maker before anything is handed over.")
}

// judgeVIN judges the number's shape, its check digit where the market has one,
// and whether the sheet covers it.
func (r *run) judgeVIN(number vin.VIN, shape error) {
	const path = "unit.vin"
	coverage := r.engine.rev.Sheet().GetVin()
	again := "Read the VIN off the frame again, character by character."
	switch {
	case shape != nil:
		f := r.findInRecord(pb.FindingCode_FINDING_CODE_VIN_MALFORMED, path,
			fmt.Sprintf("The VIN %q is malformed: %s.", r.rec.GetUnit().GetVin(), shape))
		f.Source = "ISO 3779"
		f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_CORRECT_RECORD, nil, again)
		return
	case coverage.GetCheckDigit() && !number.CheckDigitOK():
		message := fmt.Sprintf("The check digit of the VIN %s does not agree.", number)
		if digit, err := vin.CheckDigit(string(number)); err == nil {
			message = fmt.Sprintf("The check digit (position 9) of the VIN %s is %c; the other characters give %c.", number, number[8], digit)
		}
		f := r.findInRecord(pb.FindingCode_FINDING_CODE_VIN_CHECK_DIGIT, path, message)
		f.Source = "49 CFR 565.15(c)"
		f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_CORRECT_RECORD, nil, again+" One character is mistaken, or the plate is false.")
	}
	if !r.engine.rev.CoversVIN(number) {
		f := r.findInRecord(pb.FindingCode_FINDING_CODE_VIN_NOT_COVERED, path,
			fmt.Sprintf("The VIN %s is not one that this sheet covers.", number))
		f.Source = r.engine.rev.Sheet().GetSourceDocument()
		f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_CORRECT_RECORD, nil,
			"Check model, model year and market against the plate; another sheet may be the right one.")
	}
}

// judgeOptions tells which fitted options are unknown, exclude each other or
// lack another.
func (r *run) judgeOptions() {
	const path = "options"
	sheet := r.engine.rev.Sheet()
	option := func(id string) *pb.Option {
		for _, o := range sheet.GetOptions() {
			if o.GetId() == id {
				return o
			}
		}
		return nil
	}
	for _, id := range r.plan.resolved.Unknown {
		f := r.findInRecord(pb.FindingCode_FINDING_CODE_OPTION_UNKNOWN, path,
			fmt.Sprintf("This sheet has no option %q; what it changes is not known.", id))
		f.Source = sheet.GetSourceDocument()
		f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_CORRECT_RECORD, nil,
			"Use one of the sheet's options, or ask the maker what this part changes.")
	}
	for _, c := range r.plan.resolved.Conflicts {
		a, b := option(c.Option), option(c.Excludes)
		f := r.findInRecord(pb.FindingCode_FINDING_CODE_OPTION_CONFLICT, path,
			fmt.Sprintf("%s and %s exclude each other.", a.GetDisplayName(), b.GetDisplayName()))
		f.Source, f.Caution = a.GetSource(), a.GetCaution()
		f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_REPLACE, nil,
			phrase.Sentence("Take off one of them: %s or %s", a.GetDisplayName(), b.GetDisplayName()))
	}
	for _, u := range r.plan.resolved.Unmet {
		a, b := option(u.Option), option(u.Requires)
		f := r.findInRecord(pb.FindingCode_FINDING_CODE_OPTION_REQUIRES, path,
			fmt.Sprintf("%s requires %s, which is not fitted.", a.GetDisplayName(), b.GetDisplayName()))
		f.Source, f.Caution = a.GetSource(), a.GetCaution()
		f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_REPLACE, nil,
			phrase.Sentence("Fit %s, or take off %s", b.GetDisplayName(), a.GetDisplayName()))
	}
}

// judgeStrays tells of readings that the plan has no characteristic for, each
// characteristic once.
func (r *run) judgeStrays() {
	slices.SortFunc(r.strays, func(a, b *pb.Reading) int {
		return strings.Compare(a.GetCharacteristic(), b.GetCharacteristic())
	})
	for i, reading := range r.strays {
		id := reading.GetCharacteristic()
		if i > 0 && r.strays[i-1].GetCharacteristic() == id {
			continue
		}
		code, message, text := pb.FindingCode_FINDING_CODE_UNKNOWN_READING,
			fmt.Sprintf("This sheet has no characteristic %q.", id),
			"Look the characteristic up on the sheet and correct its name."
		if by, ok := r.plan.resolved.Removed[id]; ok {
			code, message, text = pb.FindingCode_FINDING_CODE_NOT_APPLICABLE,
				fmt.Sprintf("%q was read, but %q takes it away.", id, by),
				"Correct the options fitted, or take the reading out."
		}
		f := r.findInRecord(code, fmt.Sprintf("readings[%q]", id), message)
		f.Characteristic = id
		f.Source = r.engine.rev.Sheet().GetSourceDocument()
		f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_CORRECT_RECORD, nil, text)
	}
}

// ruleNotDecided tells of a rule that could not be decided, and why.
func (r *run) ruleNotDecided(rl *rule, why string) *pb.Finding {
	f := r.findInRecord(pb.FindingCode_FINDING_CODE_RULE_NOT_DECIDED, "readings",
		fmt.Sprintf("Not ruled out: %s %s", phrase.LowerFirst(phrase.Stop(rl.r.GetMessage())), why))
	f.Severity = rl.r.GetSeverity()
	f.Rule = rl.r.GetId()
	f.Source, f.Caution = rl.r.GetSource(), rl.r.GetCaution()
	f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_READ_AGAIN, nil, "Read what is missing and write it down.")
	return f
}

// ruleBroken tells of a rule that does not hold.
func (r *run) ruleBroken(rl *rule) {
	seen := make([]string, 0, len(rl.needs))
	for _, id := range rl.needs {
		i, there := r.plan.index[id]
		if !there || !r.slots[i].stands {
			continue
		}
		ck := &r.plan.checks[i]
		seen = append(seen, ck.inSentence()+" "+r.sayResult(ck, &r.slots[i]))
	}
	message := strings.TrimSuffix(rl.r.GetMessage(), ".")
	if len(seen) > 0 {
		message += " (" + strings.Join(seen, ", ") + ")"
	}
	f := r.findInRecord(pb.FindingCode_FINDING_CODE_RULE_BROKEN, "readings", phrase.Stop(message))
	f.Severity = rl.r.GetSeverity()
	f.Rule = rl.r.GetId()
	f.Source, f.Caution = rl.r.GetSource(), rl.r.GetCaution()
	f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_SET, nil, rl.r.GetRemedy())
}
