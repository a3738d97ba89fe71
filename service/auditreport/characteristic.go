package auditreport

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// characteristics are the parts of the report on single characteristics. Those
// that are drawn come worst first; the others have a row each, by spec.
type characteristics struct {
	Table *folded
	// Shown are seen at once, the rest on asking, each by itself.
	Shown, Rest []characteristic
	// Rules say which are drawn, where that is not all.
	Rules []string
	Drawn string
	Rows  []specRows
	Left  string
}

// characteristic is what shows of one characteristic of one spec.
type characteristic struct {
	ID, Name, Spec, Place string
	Line                  string // in short, for one that is folded
	Numeric               bool
	Sets                  []limitSet
	MoreSets              []limitSet
	MoreSetsName          string
	Drift, Share          *figureView
	Revisions             *figureView
	RevisionsTest         string // where there is no drawing to say it below
	Periods               []table
	Plain                 []string // what a drawing would only repeat
	Left                  string   // what neither drawings nor tables have
}

// limitSet is how the readings lie in one set of limits.
type limitSet struct {
	Limits  string
	Figures table
	Drawing template.HTML
	Left    string // what the key says; empty where there are none
	Found   string
}

// figureView is a drawing with what it shows.
type figureView struct {
	Drawing template.HTML
	Caption string
}

const (
	// shownCharacteristics have their drawings unfolded.
	shownCharacteristics = 6
	// shownLines are the lines of the table of characteristics before a fold.
	shownLines = 20
	// shownSets are the sets of limits of one characteristic before a fold, and
	// mostSets those that are drawn at all.
	shownSets = 1
	mostSets  = 4
)

func (b *builder) characteristics() characteristics {
	var out characteristics
	if len(b.s.GetCharacteristics()) == 0 {
		return out
	}
	choice := b.choice
	t := table{ID: b.tableID(), Caption: "Characteristics, worst first", Scroll: true, Columns: []column{
		head("Characteristic and spec"), figures("Read or missed"), figures("Non\u00adconforming"), figures("Share"),
		figures("Un\u00addecided"), figures("Missing"), figures("Least Cpk"),
	}}
	if len(choice.rules) > 0 {
		t.Caption = "Characteristics that are drawn, worst first"
		t.Columns = append(t.Columns, column{Head: "Drawn because of", Class: "why"})
	}
	drawn := map[*pb.AuditCharacteristic]bool{}
	for i, c := range choice.drawn {
		drawn[c.AuditCharacteristic] = true
		id := drawnID(i)
		o := outcomesOf(c.GetTally())
		cpk := none
		if v, ok := leastCpk(c.AuditCharacteristic); ok {
			cpk = twoDecimals(v)
		}
		row := []cell{
			{Text: b.nameOf(c.AuditCharacteristic), Small: c.GetSpecId(), Href: "#" + id, Free: true},
			countCell(o.due), countCell(o.wrong), figureCell(percentOf(o.wrong, o.due)), countCell(o.undecided), countCell(o.missing), figureCell(cpk),
		}
		if len(choice.rules) > 0 {
			row = append(row, cell{Text: strings.Join(c.because, ", "), Class: "t why"})
		}
		t.Rows = append(t.Rows, row)
		one := b.characteristic(id, c.AuditCharacteristic)
		if i < shownCharacteristics {
			out.Shown = append(out.Shown, one)
		} else {
			out.Rest = append(out.Rest, one)
		}
	}
	f := b.fold(t, shownLines, "characteristic")
	out.Table = &f
	if len(choice.rules) == 0 {
		return out
	}
	out.Drawn = fmt.Sprintf("%d of %s", len(choice.drawn), counted(int64(len(b.s.GetCharacteristics())), "characteristic"))
	for _, r := range choice.rules {
		n := 0
		for _, c := range r.meet {
			if drawn[c] {
				n++
			}
		}
		said := "none " + r.of
		if r.count > 0 {
			said = fmt.Sprintf("%d of %s %s", n, count(int64(r.count)), r.of)
		}
		if n < r.count && r.first != "" {
			said += ", " + r.first
		}
		out.Rules = append(out.Rules, said)
	}
	var left int
	if out.Rows, left = b.inRows(drawn); left > 0 {
		out.Left = fmt.Sprintf("The rows are those of the worst %s. The audit’s JSON summary has %s.", count(mostRows), counted(int64(left), "more characteristic"))
	}
	return out
}

// drawnID is the identifier of the characteristic that is drawn in that place.
func drawnID(i int) string { return fmt.Sprintf("c%d", i+1) }

func percentOf(a, b int64) string {
	if b == 0 {
		return none
	}
	return percent(part(a, b))
}

func (b *builder) nameOf(c *pb.AuditCharacteristic) string {
	if c.GetDisplayName() != "" {
		return c.GetDisplayName()
	}
	return nameOr(b.name(c.GetCharacteristic()), "not stated")
}

func (b *builder) characteristic(id string, c *pb.AuditCharacteristic) characteristic {
	o := outcomesOf(c.GetTally())
	out := characteristic{ID: id, Name: b.nameOf(c), Spec: c.GetSpecId(), Numeric: len(c.GetDistributions()) > 0}
	if c.GetGroup() != pb.Group_GROUP_UNSPECIFIED {
		out.Place = phrase.Place(c.GetGroup())
	}
	out.Line = fmt.Sprintf("%s of %s nonconforming", count(o.wrong), count(o.due))
	if o.due > 0 {
		out.Line = percent(part(o.wrong, o.due)) + " nonconforming, " + out.Line[:len(out.Line)-len(" nonconforming")]
	}
	if v, ok := leastCpk(c); ok {
		if n := len(c.GetDistributions()); n > 1 {
			out.Line += fmt.Sprintf("; least Cpk of %d sets of limits %s", n, twoDecimals(v))
		} else {
			out.Line += "; Cpk " + twoDecimals(v)
		}
	}
	r := b.readingOf(c)
	sets := c.GetDistributions()
	for i, d := range sets[:min(len(sets), mostSets)] {
		s := b.limitSet(out.Name, r, d)
		if i < shownSets {
			out.Sets = append(out.Sets, s)
		} else {
			out.MoreSets = append(out.MoreSets, s)
		}
	}
	if n := len(out.MoreSets); n > 0 {
		out.MoreSetsName = counted(int64(n), "other set") + " of limits"
	}
	limits := limitsOf(r, nil)
	if len(c.GetDistributions()) > 0 {
		limits = limitsOf(r, c.GetDistributions()[0])
	}
	months, revisions := lately(c.GetMonths()), lately(c.GetRevisions())
	out.Drift = b.driftView(r, limits, months)
	var plain string
	if out.Share, plain = b.shareView(months); plain != "" {
		out.Plain = append(out.Plain, plain)
	}
	if len(revisions) > 1 {
		out.Revisions = b.revisionsView(r, limits, revisions)
	}
	var left []string
	for _, n := range []struct {
		noun string
		more int
	}{
		{"other set", len(sets) - mostSets}, {"earlier month", len(c.GetMonths()) - len(months)}, {"earlier revision", len(c.GetRevisions()) - len(revisions)},
	} {
		if n.more > 0 {
			left = append(left, counted(int64(n.more), n.noun))
		}
	}
	if len(left) > 0 {
		out.Left = phrase.Sentence("In the audit’s JSON summary there are also: %s", phrase.All(left))
	}
	if c.RevisionsPValue != nil {
		test := "One-way analysis of variance between revisions with the same limits: " +
			probabilityIs("p", c.GetRevisionsPValue()) + ". It supposes readings that are independent, near normal and of equal spread."
		if out.Revisions != nil {
			out.Revisions.Caption += ". " + test
		} else {
			out.RevisionsTest = test
		}
	}
	if t := b.periodTable(out.Name+" by month", "Month (UTC)", r, out.Numeric, months); t != nil {
		out.Periods = append(out.Periods, *t)
	}
	if t := b.periodTable(out.Name+" by revision", "Revision", r, out.Numeric, revisions); t != nil {
		out.Periods = append(out.Periods, *t)
	}
	return out
}

// readingOf chooses one unit for all values of a characteristic.
func (b *builder) readingOf(c *pb.AuditCharacteristic) reading {
	var sizes []float64
	for _, d := range c.GetDistributions() {
		for _, v := range []*float64{d.Lower, d.Upper, d.Nominal} {
			if v != nil {
				sizes = append(sizes, *v)
			}
		}
		if v := d.GetAsLeft(); v.GetCount() > 0 {
			sizes = append(sizes, v.GetMean())
		}
	}
	return readingOf(c.GetUnit(), b.system, sizes...)
}

// periodTable tells months or revisions in figures. It is nil where there are
// none.
func (b *builder) periodTable(caption, name string, r reading, numeric bool, periods []*pb.AuditPeriod) *table {
	if len(periods) == 0 {
		return nil
	}
	inUnitHead := func(name string) column {
		return column{Head: name + inUnit(r), Class: figure, Free: !r.known}
	}
	t := table{ID: b.tableID(), Caption: caption, Class: "narrow", Scroll: true, Columns: []column{
		head(name), figures("Read or missed"), figures("Non\u00adconforming"), figures("Share"),
	}}
	if numeric {
		t.Columns = append(t.Columns, figures("n"), inUnitHead("Mean"), inUnitHead("s"))
	}
	// One number of decimals for all, so that they can be compared down the column.
	var deviations, sizes float64
	for _, p := range periods {
		if p.GetCount() > 1 {
			deviations = max(deviations, r.difference(p.GetStandardDeviation()))
		}
		sizes = max(sizes, math.Abs(r.at(p.GetMean())))
	}
	decimals := decimalsFor(deviations, sizes)
	for _, p := range periods {
		row := []cell{
			text(nameOr(p.GetName(), "not stated")), countCell(p.GetRecordCount()), countCell(p.GetNonconformingCount()),
			figureCell(percentOf(p.GetNonconformingCount(), p.GetRecordCount())),
		}
		if numeric {
			mean, deviation := none, none
			if p.GetCount() > 0 {
				mean = fixed(r.at(p.GetMean()), decimals)
				if p.GetCount() > 1 {
					deviation = fixed(r.difference(p.GetStandardDeviation()), decimals+1)
				}
			}
			row = append(row, countCell(p.GetCount()), figureCell(mean), figureCell(deviation))
		}
		t.Rows = append(t.Rows, row)
	}
	return &t
}
