package spec

import (
	"fmt"
	"slices"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/vin"
)

// checkDigitMarkets are those whose law asks for the check digit: the United
// States (49 CFR 565.15(c)) and Canada (CMVSS 115; from memory).
var checkDigitMarkets = []string{"US", "CA"}

// head checks what stands above the characteristics.
func (l *linter) head() {
	s := l.sheet
	if s.GetInvented() && !strings.Contains(strings.ToLower(s.GetSourceDocument()), "invented") {
		l.add("source_document", `got %q, want the word "invented" in it, since the sheet is`, s.GetSourceDocument())
	}
	if v := s.GetVin(); v != nil {
		l.coverage("vin", v)
	}
	for i, bulletin := range s.GetBulletins() {
		if v := bulletin.GetVin(); v != nil {
			l.coverage(fmt.Sprintf("bulletins[%d].vin", i), v)
		}
	}
	if v := s.GetVin(); v != nil && !v.GetCheckDigit() && slices.Contains(checkDigitMarkets, s.GetMarket()) {
		l.add("vin.check_digit", "got false, want true: market %s requires it (49 CFR 565.15; CMVSS 115)", s.GetMarket())
	}
	l.leastTimes()
}

// leastTimes checks that no phase has two: which of them holds would depend on
// their order.
func (l *linter) leastTimes() {
	first := make(map[pb.Phase]int)
	for i, least := range l.sheet.GetLeastTimes() {
		phase := least.GetPhase()
		if phase == pb.Phase_PHASE_UNSPECIFIED {
			continue // told by the schema
		}
		if j, taken := first[phase]; taken {
			l.add(fmt.Sprintf("least_times[%d].phase", i), "%s has a least time already, at least_times[%d]", phrase.Phase(phase), j)
			continue
		}
		first[phase] = i
	}
}

// coverage checks the VINs of the sheet or of a bulletin.
func (l *linter) coverage(path string, c *pb.VinCoverage) {
	for i, text := range c.GetPatterns() {
		at := fmt.Sprintf("%s.patterns[%d]", path, i)
		if _, err := vin.CompilePattern(text); err != nil {
			l.add(at, "%v", err)
			continue
		}
		if len(text) < 10 {
			continue // told by the schema
		}
		if strings.Contains(text[:3], "?") {
			l.add(at, "got %q, want the maker's three characters without '?'", text)
		} else if l.sheet.GetInvented() && text[0] != '0' {
			// No region of the world is assigned 0 (ISO 3780; from memory).
			l.add(at, "got %q, want 0 first: an invented machine must not have a real maker's VIN", text)
		}
		if year := int(l.sheet.GetModelYear()); c.GetCheckDigit() && text[9] != '?' &&
			year >= vin.FirstYear && year <= vin.LastYear && !slices.Contains(vin.ModelYears(text[9]), year) {
			l.add(at, "got %q at position 10, want the code of model year %d (49 CFR 565.15)", text[9:10], year)
		}
	}
	if err := (vin.SerialRange{From: c.GetSerialFrom(), To: c.GetSerialTo()}).Validate(); err != nil {
		l.add(path+".serial_from", "%v", err)
	}
}

// reservedIDs cannot name a characteristic, since expressions use the words:
// the variables of rules, and the reserved words of CEL.
var reservedIDs = []string{
	"options", "phase", "hours",
	"as", "break", "const", "continue", "else", "false", "for", "function", "if", "import", "in", "let",
	"loop", "namespace", "null", "package", "return", "true", "var", "void", "while",
}

// identifiers checks that each names one thing. Additions of different
// amendments may share one: they are alternatives if they exclude each other,
// and refused later if they do not.
func (l *linter) identifiers() {
	owner := make(map[string]string) // identifier to where it was first seen
	claim := func(path, id string) {
		if id == "" {
			return // told by the schema
		}
		if first, taken := owner[id]; taken {
			l.add(path+".id", "%q is used twice; first at %s", id, first)
			return
		}
		owner[id] = path
	}
	s := l.sheet
	for i, ch := range s.GetCharacteristics() {
		claim(fmt.Sprintf("characteristics[%d]", i), ch.GetId())
	}
	for i, option := range s.GetOptions() {
		claim(fmt.Sprintf("options[%d]", i), option.GetId())
	}
	for i, bulletin := range s.GetBulletins() {
		claim(fmt.Sprintf("bulletins[%d]", i), bulletin.GetId())
	}
	for i, rule := range s.GetRules() {
		claim(fmt.Sprintf("rules[%d]", i), rule.GetId())
	}
	added := func(path string, a *pb.Amendment) {
		clash := func(path, id, same string) {
			if first, taken := owner[id]; taken && !strings.HasPrefix(first, same) {
				l.add(path+".id", "%q is used twice; first at %s", id, first)
			}
		}
		own := make(map[string]bool)
		twice := func(path, id string) {
			if own[id] && id != "" {
				l.add(path+".id", "%q is used twice in this amendment", id)
			}
			own[id] = true
		}
		for i, ch := range a.GetAdd() {
			at := fmt.Sprintf("%s.add[%d]", path, i)
			clash(at, ch.GetId(), "characteristics[")
			twice(at, ch.GetId())
		}
		for i, rule := range a.GetAddRules() {
			at := fmt.Sprintf("%s.add_rules[%d]", path, i)
			clash(at, rule.GetId(), "rules[")
			twice(at, rule.GetId())
		}
	}
	for i, option := range s.GetOptions() {
		added(fmt.Sprintf("options[%d].amendment", i), option.GetAmendment())
	}
	for i, bulletin := range s.GetBulletins() {
		added(fmt.Sprintf("bulletins[%d].amendment", i), bulletin.GetAmendment())
	}
}

// examples checks that each is for this machine and expects something.
func (l *linter) examples() {
	s := l.sheet
	for i, example := range s.GetExamples() {
		path := fmt.Sprintf("examples[%d]", i)
		if example.GetExpectation() == nil {
			l.add(path+".expectation", "missing: an example must say which verdict and codes it wants")
		}
		unit := example.GetUnit()
		if unit == nil {
			continue // told by the schema
		}
		if !isNamed(s, unit.GetModel()) {
			l.add(path+".unit.model", "got %q, want %q or one of its other names", unit.GetModel(), s.GetModel())
		}
		if unit.GetModelYear() != s.GetModelYear() {
			l.add(path+".unit.model_year", "got %d, want %d", unit.GetModelYear(), s.GetModelYear())
		}
		if unit.GetMarket() != s.GetMarket() {
			l.add(path+".unit.market", "got %q, want %q", unit.GetMarket(), s.GetMarket())
		}
	}
}
