package auditreport

import (
	"fmt"
	"html/template"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// report is what the template sees.
type report struct {
	Title    string
	Style    template.CSS
	Contents []entry
	Facts    []fact

	Key             keyFigures
	Yields          []yieldGroup
	Pareto          *table
	ParetoFine      *folded
	Look            look
	Tests           tested
	Heat            heatMap
	Characteristics characteristics
	Errors          *table
	Notes           []string
}

// entry is a line of the table of contents.
type entry struct{ ID, Name, Count string }

// fact is a line of the report's head.
type fact struct{ Label, Value string }

// builder makes the parts of one report.
type builder struct {
	s       *pb.AuditSummary
	system  quantity.System
	numbers int
	// names are the characteristics' names in words, by identifier.
	names  map[string]string
	choice choice
}

func reportOf(s *pb.AuditSummary) report {
	b := &builder{s: s, names: map[string]string{}}
	if s.GetOptions().GetUnitSystem() == pb.UnitSystem_UNIT_SYSTEM_US {
		b.system = quantity.USCustomary
	}
	for _, c := range s.GetCharacteristics() {
		if _, ok := b.names[c.GetCharacteristic()]; !ok && c.GetDisplayName() != "" {
			b.names[c.GetCharacteristic()] = c.GetDisplayName()
		}
	}
	b.choice = b.choose()
	title := nameOr(s.GetOptions().GetTitle(), "Set-up records")
	out := report{
		Title:           title,
		Style:           style(title),
		Facts:           b.facts(),
		Key:             b.keyFigures(),
		Yields:          b.yields(),
		Pareto:          b.pareto(),
		ParetoFine:      b.paretoFine(),
		Look:            b.look(),
		Tests:           b.tested(),
		Heat:            b.heatMap(),
		Characteristics: b.characteristics(),
		Errors:          b.errors(),
	}
	for _, n := range s.GetNotes() {
		out.Notes = append(out.Notes, phrase.Stop(n))
	}
	size := func(n int) string { return count(int64(n)) }
	out.Contents = []entry{
		{"key", "Key figures", ""},
		{"look", "Worth a look", size(len(s.GetObservations()))},
		{"tests", "What was tested", size(len(s.GetTests()))},
		{"findings", "Findings", size(len(s.GetPareto()))},
		{"yield", "Accepted, by group", ""},
		{"map", "Shops and characteristics", ""},
		{"characteristics", "Characteristics", size(len(s.GetCharacteristics()))},
		{"errors", "Not judged", count(s.GetErrorCount())},
		{"notes", "Notes", size(len(s.GetNotes()))},
	}
	return out
}

// next is a number that nothing else on the page has.
func (b *builder) next() int {
	b.numbers++
	return b.numbers
}

func (b *builder) tableID() string { return fmt.Sprintf("t%d", b.next()) }

// name is a characteristic's name in words.
func (b *builder) name(characteristic string) string {
	if n, ok := b.names[characteristic]; ok {
		return n
	}
	return phrase.UpperFirst(identifierWords(characteristic))
}

// facts say what was audited, and by what.
func (b *builder) facts() []fact {
	s, o := b.s, b.s.GetOptions()
	records := counted(s.GetRecordCount(), "record")
	switch n := s.GetErrorCount(); {
	case s.GetRecordCount() == 0:
		records = "None"
	case n == 0:
		records += ", all judged"
	case n == s.GetRecordCount():
		records += ", none of which could be judged"
	default:
		records += fmt.Sprintf(", of which %s could not be judged", count(n))
	}
	finished := none
	if first, last := instant(s.GetFirstFinishTime()), instant(s.GetLastFinishTime()); first != none && last != none {
		finished = first + " to " + last
		if first == last {
			finished = first
		}
	}
	by := "The revision in force on each record’s own day"
	if t := instant(o.GetAsOfTime()); t != none {
		by = "What was in force at " + t + ", for every record"
	}
	if o.GetSpecRevision() != "" {
		by = phrase.UpperFirst(revisionWords(o.GetSpecRevision())) + ", for every record, whatever was in force"
	}
	if n := len(s.GetRevisions()); n > 0 && o.GetSpecRevision() == "" {
		by += fmt.Sprintf(": %s of %s", counted(int64(n), "revision"), counted(int64(len(s.GetSpecs())), "spec"))
	}
	version := func(v string) string {
		if v == "" {
			return none
		}
		return v
	}
	return []fact{
		{"Records", records},
		{"Work finished", finished},
		{"Judged by", by},
		{"As known at", instant(o.GetKnownTime())},
		{"Units", phrase.UpperFirst(b.system.String())},
		{"Versions", "Engine " + version(s.GetEngineVersion()) + ", audit " + version(s.GetAuditVersion())},
	}
}
