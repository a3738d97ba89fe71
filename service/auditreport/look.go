package auditreport

import (
	"html/template"
	"strconv"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// look is what is worth a look.
type look struct {
	Shown, Rest []observation
	More        string
	Nothing     string // said where there is nothing
	// Signs that single records show, in all and by group.
	Signs  *table
	Groups *folded
}

// observation is one thing worth a look.
type observation struct {
	Rank                         int
	Sign                         string
	Shop, Person, Characteristic string // where it shows, as far as it is one
	Because, Innocent            string
	Bars                         template.HTML
	Facts                        []fact
	Examples                     string
}

// shownObservations are seen before a fold.
const shownObservations = 12

func (b *builder) look() look {
	var out look
	for i, o := range b.s.GetObservations() {
		out.Shown = append(out.Shown, b.observation(i+1, o))
	}
	if len(out.Shown) > shownObservations+1 {
		out.Rest = out.Shown[shownObservations:]
		out.Shown = out.Shown[:shownObservations:shownObservations]
		out.More = count(int64(len(out.Rest))) + " more"
	}
	if len(out.Shown) == 0 {
		out.Nothing = "Nothing could stand out, because no group was tested."
		var groups int64
		for _, t := range b.s.GetTests() {
			groups += t.GetTestedCount()
		}
		if groups > 0 {
			out.Nothing = "Nothing stood out among " + counted(groups, "group") + " tested."
		}
	}
	out.Signs = b.signTable()
	out.Groups = b.signGroups()
	return out
}

func (b *builder) observation(rank int, o *pb.AuditObservation) observation {
	out := observation{
		Rank:     rank,
		Sign:     phrase.UpperFirst(signWords(o.GetSign())),
		Because:  phrase.Stop(o.GetBecause()),
		Innocent: phrase.Stop(o.GetInnocentCauses()),
		Shop:     o.GetShop(),
		Person:   o.GetTechnician(),
	}
	if o.GetCharacteristic() != "" {
		out.Characteristic = b.name(o.GetCharacteristic())
	}
	out.Bars = b.shareBars(o)
	switch {
	case o.GetHitCount() > 0:
		out.Facts = append(out.Facts, fact{"Seen in", count(o.GetHitCount()) + " of " + count(o.GetOpportunityCount())})
	case o.GetOpportunityCount() > 0:
		out.Facts = append(out.Facts, fact{"Tested over", count(o.GetOpportunityCount())})
	}
	if e := o.GetEffect(); e != nil {
		out.Facts = append(out.Facts, fact{b.effectName(o.GetSign()), estimated(e, threeDigits)})
	}
	out.Facts = append(out.Facts, fact{"q-value", probability(o.GetQValue())}, fact{"p-value", probability(o.GetPValue())})
	var examples []string
	for _, i := range o.GetExampleIndices() {
		examples = append(examples, strconv.FormatInt(i, 10))
	}
	out.Examples = phrase.All(examples)
	return out
}

// effectName is the name of the measure of effect for a sign.
func (b *builder) effectName(sign pb.AuditSign) string {
	for _, t := range b.s.GetTests() {
		if t.GetSign() == sign && t.GetEffectMeasure() != "" {
			return phrase.UpperFirst(t.GetEffectMeasure())
		}
	}
	return "Effect"
}

// shareBars draws the share here above the share elsewhere, on one axis from
// nought. It is empty where there are no shares to compare.
func (b *builder) shareBars(o *pb.AuditObservation) template.HTML {
	here, elsewhere := o.GetShare(), o.GetShareElsewhere()
	if !isShare(here) || !isShare(elsewhere) || here == 0 && elsewhere == 0 {
		return ""
	}
	const label, figure, top = 70.0, 58.0, 4.0
	p := &picture{width: 316, height: 62}
	ax := scale{lo: 0, hi: roundUp(max(here, elsewhere)), from: label, to: p.width - figure}
	p.line("axisline", ax.from, 0, ax.from, 44)
	for i, bar := range []struct {
		class, name string
		share       float64
	}{{"bar", "here", here}, {"barfound", "elsewhere", elsewhere}} {
		y := top + float64(i)*20
		p.text("label", "end", label-8, y+12, bar.name)
		p.rect(bar.class, ax.from, y, ax.at(bar.share)-ax.from, 14)
		p.text("value", "start", ax.at(bar.share)+6, y+12, percent(bar.share))
	}
	p.text("tick", "start", ax.from-2, 59, wholePercent(0))
	p.text("tick", "end", ax.to+2, 59, plain(ax.hi*100, 3)+space+"%")
	return p.named(b.next(), "Share here against elsewhere", "Here "+percent(here)+", elsewhere "+percent(elsewhere)+".")
}

// signTable tells in how many records each sign was seen that a single record
// can show.
func (b *builder) signTable() *table {
	list := b.s.GetTotal().GetSigns()
	if len(list) == 0 {
		return nil
	}
	t := table{ID: b.tableID(), Caption: "Signs that single records show", Class: "narrow", Columns: []column{
		head("Sign"), figures("Shown by"), figures("Could show in"), figures("Share"),
	}}
	for _, s := range list {
		share := none
		if s.GetOpportunityCount() > 0 {
			share = percent(part(s.GetRecordCount(), s.GetOpportunityCount()))
		}
		t.Rows = append(t.Rows, []cell{
			text(phrase.UpperFirst(signWords(s.GetSign()))), countCell(s.GetRecordCount()), countCell(s.GetOpportunityCount()), figureCell(share),
		})
	}
	return &t
}

// mostSignRows keeps the table of signs by group readable; the results have them
// all.
const mostSignRows = 400

// signGroups tells which shops and technicians have records with signs. Those
// without are left out.
func (b *builder) signGroups() *folded {
	t := table{ID: b.tableID(), Caption: "Signs that single records show, by shop and technician", Class: "narrow", Scroll: true, Columns: []column{
		head("Shop"), head("Technician"), head("Sign"), figures("Shown by"), figures("Could show in"), figures("Share"),
	}}
	add := func(shop, technician string, list []*pb.AuditSignCount) {
		for _, s := range list {
			if s.GetRecordCount() > 0 && len(t.Rows) < mostSignRows {
				t.Rows = append(t.Rows, []cell{
					text(nameOr(shop, "not stated")), text(technician), text(signWords(s.GetSign())),
					countCell(s.GetRecordCount()), countCell(s.GetOpportunityCount()), figureCell(percent(part(s.GetRecordCount(), s.GetOpportunityCount()))),
				})
			}
		}
	}
	for _, y := range b.s.GetShops() {
		add(y.GetName(), "all", y.GetSigns())
	}
	for _, y := range b.s.GetTechnicians() {
		add(y.GetParent(), nameOr(y.GetName(), "not stated"), y.GetSigns())
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return &folded{Rest: t, More: "Which shops and technicians"}
}
