package auditreport

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strconv"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// look is what is worth a look.
type look struct {
	Shown, Rest []observation
	More        string
	Left        string // says how many there are beside these
	Nothing     string // said where there is nothing
	Supposes    string
	// Signs that single records show, in all and by group.
	Signs  *table
	Groups *folded
}

// observation is one thing worth a look.
type observation struct {
	Rank                         int
	Sign                         string
	Shop, Person, Characteristic string // where it shows, as far as it is one
	Spec, Href                   string // of the characteristic; where it is drawn
	Because, Innocent            string
	Bars                         template.HTML
	Facts                        []fact
	Examples                     string
}

// shownObservations are seen before a fold, mostObservations at all.
const (
	shownObservations = 12
	mostObservations  = 100
)

func (b *builder) look() look {
	var out look
	all := b.s.GetObservations()
	for i, o := range all[:min(len(all), mostObservations)] {
		out.Shown = append(out.Shown, b.observation(i+1, o))
	}
	if len(out.Shown) > shownObservations+1 {
		out.Rest = out.Shown[shownObservations:]
		out.Shown = out.Shown[:shownObservations:shownObservations]
		out.More = count(int64(len(out.Rest))) + " more"
	}
	if n := len(all) - mostObservations; n > 0 {
		out.Left = "And " + counted(int64(n), "weaker one") + ", which the audit’s JSON summary has."
	}
	out.Supposes = b.chance()
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
		out.Characteristic = nameOr(o.GetDisplayName(), b.name(o.GetCharacteristic()))
		out.Spec = o.GetSpecId()
		for i, c := range b.choice.drawn {
			if keyOf(c.AuditCharacteristic) == (key{o.GetSpecId(), o.GetCharacteristic()}) {
				out.Href = "#" + drawnID(i)
			}
		}
	}
	out.Bars = shareBars(o)
	switch {
	case o.GetSign() == pb.AuditSign_AUDIT_SIGN_DRIFT && o.GetOpportunityCount() > 0:
		out.Facts = append(out.Facts, fact{"Readings", count(o.GetOpportunityCount())})
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
		examples = append(examples, strconv.FormatInt(i+1, 10)) // people count from 1
	}
	out.Examples = phrase.All(examples)
	return out
}

// chance says what share of what is told is expected to be chance, by the
// q-value that the tests were held to.
func (b *builder) chance() string {
	var greatest float64
	for _, t := range b.s.GetTests() {
		if q := t.GetGreatestQValue(); isShare(q) {
			greatest = max(greatest, q)
		}
	}
	if greatest == 0 {
		return ""
	}
	of := ""
	if n := 1 / greatest; n >= 1.5 {
		of = ": about one in " + count(int64(math.Round(n)))
	}
	return "Of what is told at q" + space + "≤" + space + plain(greatest, 3) + " at most that share is expected to be chance" + of + "."
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
func shareBars(o *pb.AuditObservation) template.HTML {
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
	return p.named("bars", "Here "+percent(here)+", elsewhere "+percent(elsewhere))
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
			own(phrase.UpperFirst(signWords(s.GetSign()))), countCell(s.GetRecordCount()), countCell(s.GetOpportunityCount()), figureCell(share),
		})
	}
	return &t
}

// mostSignRows keeps the table of signs by group readable.
const mostSignRows = 200

// signGroups tells which shops and technicians have records with signs. Those
// without are left out.
func (b *builder) signGroups() *folded {
	t := table{ID: b.tableID(), Caption: "Signs that single records show, by shop and technician", Class: "narrow", Scroll: true, Columns: []column{
		head("Shop"), head("Technician"), head("Sign"), figures("Shown by"), figures("Could show in"), figures("Share"),
	}}
	var sure []float64 // lower bound of each row's share
	add := func(shop string, technician cell, list []*pb.AuditSignCount) {
		for _, s := range list {
			if s.GetRecordCount() > 0 {
				t.Rows = append(t.Rows, []cell{
					text(nameOr(shop, "not stated")), technician, own(signWords(s.GetSign())),
					countCell(s.GetRecordCount()), countCell(s.GetOpportunityCount()), figureCell(percent(part(s.GetRecordCount(), s.GetOpportunityCount()))),
				})
				sure = append(sure, atLeast(s.GetRecordCount(), s.GetOpportunityCount()))
			}
		}
	}
	for _, y := range b.s.GetShops() {
		add(y.GetName(), own("all"), y.GetSigns())
	}
	for _, y := range b.s.GetTechnicians() {
		add(y.GetParent(), text(nameOr(y.GetName(), "not stated")), y.GetSigns())
	}
	all := len(t.Rows)
	if all == 0 {
		return nil
	}
	// Highest share first, by what is sure of it, so that whoever stands out is not looked for.
	order := make([]int, all)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(sure[j], sure[i]) })
	rows := make([][]cell, 0, mostSignRows)
	for _, i := range order[:min(all, mostSignRows)] {
		rows = append(rows, t.Rows[i])
	}
	t.Rows = rows
	out := &folded{Rest: t, More: "Which shops and technicians, highest share first by the lower bound of its interval"}
	if all > mostSignRows {
		out.Left = fmt.Sprintf("And %s, which the audit’s JSON summary has.", counted(int64(all-mostSignRows), "more line"))
	}
	return out
}
