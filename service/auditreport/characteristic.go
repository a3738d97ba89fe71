package auditreport

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// characteristics are the parts of the report on single characteristics, worst
// first.
type characteristics struct {
	Table *folded
	// Shown are seen at once, the rest on asking, each by itself.
	Shown, Rest []characteristic
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
	// shownSets are the sets of limits of one characteristic before a fold.
	shownSets = 1
)

func (b *builder) characteristics() characteristics {
	var out characteristics
	list := slices.Clone(b.s.GetCharacteristics())
	if len(list) == 0 {
		return out
	}
	slices.SortStableFunc(list, worse)
	t := table{ID: b.tableID(), Caption: "Characteristics, worst first", Scroll: true, Columns: []column{
		head("Characteristic and spec"), figures("Read or missed"), figures("Non\u00adconforming"), figures("Share"),
		figures("Un\u00addecided"), figures("Missing"), figures("Cpk"),
	}}
	for i, c := range list {
		id := fmt.Sprintf("c%d", i+1)
		o := outcomesOf(c.GetTally())
		cpk := none
		if v, ok := leadingCpk(c); ok {
			cpk = twoDecimals(v)
		}
		t.Rows = append(t.Rows, []cell{
			{Text: b.nameOf(c), Small: c.GetSpecId(), Href: "#" + id},
			countCell(o.due), countCell(o.wrong), figureCell(percentOf(o.wrong, o.due)), countCell(o.undecided), countCell(o.missing), figureCell(cpk),
		})
		one := b.characteristic(id, c)
		if i < shownCharacteristics {
			out.Shown = append(out.Shown, one)
		} else {
			out.Rest = append(out.Rest, one)
		}
	}
	f := b.fold(t, shownLines, "characteristic")
	out.Table = &f
	return out
}

// worse orders characteristics: more of it nonconforming first, then the smaller
// Cpk, then by spec and identifier. One without a Cpk follows those with one.
func worse(x, y *pb.AuditCharacteristic) int {
	share := func(c *pb.AuditCharacteristic) float64 {
		o := outcomesOf(c.GetTally())
		return part(o.wrong, o.due)
	}
	cpk := func(c *pb.AuditCharacteristic) float64 {
		if v, ok := leadingCpk(c); ok {
			return v
		}
		return math.Inf(1)
	}
	return cmp.Or(
		cmp.Compare(share(y), share(x)),
		cmp.Compare(cpk(x), cpk(y)),
		cmp.Compare(x.GetSpecId(), y.GetSpecId()),
		cmp.Compare(x.GetCharacteristic(), y.GetCharacteristic()),
	)
}

// leadingCpk is the Cpk in the set of limits that has most readings.
func leadingCpk(c *pb.AuditCharacteristic) (float64, bool) {
	if len(c.GetDistributions()) == 0 {
		return 0, false
	}
	e := c.GetDistributions()[0].GetCapability().GetCpk()
	return e.GetValue(), e != nil && finite(e.GetValue())
}

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
	if v, ok := leadingCpk(c); ok {
		out.Line += "; Cpk " + twoDecimals(v)
	}
	r := b.readingOf(c)
	for i, d := range c.GetDistributions() {
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
	out.Drift = b.driftView(out.Name, r, limits, c.GetMonths())
	out.Share = b.shareView(out.Name, c.GetMonths())
	if len(c.GetRevisions()) > 1 {
		out.Revisions = b.revisionsView(out.Name, r, limits, c.GetRevisions())
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
	if t := b.periodTable(out.Name+" by month", "Month (UTC)", r, out.Numeric, c.GetMonths()); t != nil {
		out.Periods = append(out.Periods, *t)
	}
	if t := b.periodTable(out.Name+" by revision", "Revision", r, out.Numeric, c.GetRevisions()); t != nil {
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
	t := table{ID: b.tableID(), Caption: caption, Class: "narrow", Scroll: true, Columns: []column{
		head(name), figures("Read or missed"), figures("Non\u00adconforming"), figures("Share"),
	}}
	if numeric {
		t.Columns = append(t.Columns, figures("n"), figures("Mean"), figures("s"))
	}
	for _, p := range periods {
		row := []cell{
			text(nameOr(p.GetName(), "not stated")), countCell(p.GetRecordCount()), countCell(p.GetNonconformingCount()),
			figureCell(percentOf(p.GetNonconformingCount(), p.GetRecordCount())),
		}
		if numeric {
			mean, deviation := none, none
			if p.GetCount() > 0 {
				m, s := r.at(p.GetMean()), r.difference(p.GetStandardDeviation())
				decimals := decimalsFor(s, m)
				mean = r.sayFixed(m, decimals)
				if p.GetCount() > 1 {
					deviation = r.sayFixed(s, decimals+1)
				}
			}
			row = append(row, countCell(p.GetCount()), figureCell(mean), figureCell(deviation))
		}
		t.Rows = append(t.Rows, row)
	}
	return &t
}
