package render

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// changeMargin is where the text of a change begins: behind the longest word for
// what it does.
const changeMargin = len("tightened") + 2

// Diff writes what differs between two sheets: the head, the characteristics
// under their places in the order in which the places first come up, then
// options, bulletins and rules. What is only said in other words is named; full
// writes it out, and all there is about what appeared or vanished.
func Diff(d *pb.SpecDiff, full bool, o Options) string {
	p := o.page()
	p.Text(0, layout.Bold, compared(d.GetBase(), d.GetTarget()))
	p.Text(0, layout.Dim, tallyOf(d))
	var head []*pb.FieldChange
	for _, f := range d.GetHead() {
		if f.GetField() == "change_note" && f.GetAfter() != "" && !full {
			p.Text(0, "", f.GetAfter())
			continue
		}
		head = append(head, f)
	}
	if len(head) > 0 {
		title(p, "sheet")
		fieldChanges(p, 2, head, full)
	}
	var order []pb.Group
	groups := make(map[pb.Group][]*pb.CharacteristicChange)
	for _, c := range d.GetCharacteristics() {
		if groups[c.GetGroup()] == nil {
			order = append(order, c.GetGroup())
		}
		groups[c.GetGroup()] = append(groups[c.GetGroup()], c)
	}
	for _, g := range order {
		title(p, phrase.Place(g))
		for _, c := range groups[g] {
			changeHeading(p, c.GetKind(), c.GetDisplayName())
			switch {
			case full, inFigures(c):
				fieldChanges(p, changeMargin, c.GetFields(), full)
			default:
				p.Text(changeMargin, "", withoutName(c.GetText(), c.GetDisplayName()))
			}
		}
	}
	for _, part := range []struct {
		title string
		items []*pb.ItemChange
	}{{"options", d.GetOptions()}, {"bulletins", d.GetBulletins()}, {"rules", d.GetRules()}} {
		if len(part.items) == 0 {
			continue
		}
		title(p, part.title)
		for _, i := range part.items {
			changeHeading(p, i.GetKind(), i.GetDisplayName())
			p.Text(changeMargin, "", withoutName(i.GetText(), i.GetDisplayName()))
			if full {
				fieldChanges(p, changeMargin, i.GetFields(), full)
			}
			p.Text(changeMargin, layout.Dim, i.GetId())
		}
	}
	return p.String()
}

// compared says which two sheets: "scree-200i-2026-eu: revision 1 → 2".
func compared(base, target string) string {
	from, fromNumber, _ := strings.Cut(sheetName(base), " revision ")
	to, toNumber, _ := strings.Cut(sheetName(target), " revision ")
	if from == to {
		return from + ": revision " + fromNumber + " → " + toNumber
	}
	return sheetName(base) + " → " + sheetName(target)
}

// tallyOf counts what differs: "1 characteristic appeared, 2 tightened; 1
// option, 1 rule". The order is that of the kinds in the contract.
func tallyOf(d *pb.SpecDiff) string {
	counts := make(map[pb.ChangeKind]int)
	for _, c := range d.GetCharacteristics() {
		counts[c.GetKind()]++
	}
	var kinds, items []string
	for _, kind := range sortedKinds(counts) {
		kinds = append(kinds, fmt.Sprintf("%d %s", counts[kind], phrase.Words(kind)))
	}
	for _, part := range []struct {
		n    int
		name string
	}{{len(d.GetOptions()), "option"}, {len(d.GetBulletins()), "bulletin"}, {len(d.GetRules()), "rule"}} {
		if part.n > 0 {
			items = append(items, counted(part.n, part.name))
		}
	}
	said := join("; ",
		prefixed(counted(len(d.GetCharacteristics()), "characteristic")+": ", strings.Join(kinds, ", ")),
		strings.Join(items, ", "))
	switch {
	case said != "":
		return said
	case len(d.GetHead()) > 0:
		return "only the head of the sheet differs"
	}
	return "no difference"
}

func sortedKinds(counts map[pb.ChangeKind]int) []pb.ChangeKind {
	var kinds []pb.ChangeKind
	for kind := range counts {
		kinds = append(kinds, kind)
	}
	slices.Sort(kinds)
	return kinds
}

// changeHeading writes what a change does and to what.
func changeHeading(p *layout.Page, kind pb.ChangeKind, name string) {
	word := phrase.Words(kind)
	lead := p.Ink.Write(changeStyle(kind), word) + strings.Repeat(" ", max(changeMargin-len(word), 1))
	titled(p, lead, changeMargin, name, "")
}

func changeStyle(kind pb.ChangeKind) layout.Style {
	switch kind {
	case pb.ChangeKind_CHANGE_KIND_APPEARED:
		return layout.Green
	case pb.ChangeKind_CHANGE_KIND_VANISHED:
		return layout.Red
	case pb.ChangeKind_CHANGE_KIND_TIGHTENED, pb.ChangeKind_CHANGE_KIND_SHIFTED:
		return layout.Yellow
	case pb.ChangeKind_CHANGE_KIND_LOOSENED:
		return layout.Blue
	}
	return layout.Dim
}

// inFigures reports whether a change is best read field by field: both sheets
// have it, and something differs besides its texts.
func inFigures(c *pb.CharacteristicChange) bool {
	switch c.GetKind() {
	case pb.ChangeKind_CHANGE_KIND_APPEARED, pb.ChangeKind_CHANGE_KIND_VANISHED:
		return false
	}
	return slices.ContainsFunc(c.GetFields(), func(f *pb.FieldChange) bool { return !isText(f) })
}

// isText reports whether a field only says something in words.
func isText(f *pb.FieldChange) bool {
	switch lastField(f.GetField()) {
	case "method", "remedy", "caution", "source", "search_words", "description", "title", "message", "change_note", "source_document":
		return true
	}
	return false
}

// isAside reports whether a field is of no use to hands: whence a figure comes,
// what it is found by.
func isAside(f *pb.FieldChange) bool {
	switch lastField(f.GetField()) {
	case "source", "search_words":
		return true
	}
	return false
}

func lastField(path string) string { return path[strings.LastIndexByte(path, '.')+1:] }

// withoutName takes the name off a sentence whose heading it is. Behind a name
// with a colon of its own there is a dash.
func withoutName(text, name string) string {
	name = strings.TrimSuffix(name, ".")
	for _, mark := range []string{": ", " – "} {
		if rest, ok := strings.CutPrefix(text, phrase.UpperFirst(name)+mark); ok {
			return rest
		}
	}
	return text
}

// fieldChanges writes fields, before → after. Texts are only named, those that are
// an aside not even that, unless they are to be written in full.
func fieldChanges(p *layout.Page, indent int, changes []*pb.FieldChange, full bool) {
	const widest = 24
	width := 0
	var texts []string
	var shown []*pb.FieldChange
	for _, f := range changes {
		if isText(f) && !full {
			if !isAside(f) {
				texts = append(texts, layout.Clean(f.GetLabel()))
			}
			continue
		}
		shown = append(shown, f)
		if w := layout.Width(layout.Clean(f.GetLabel())); w <= widest {
			width = max(width, w)
		}
	}
	width = min(width+columnGap, (p.Width-indent)/2)
	// Of what appeared or vanished there is one side only; its heading says which.
	oneSide := !slices.ContainsFunc(changes, func(f *pb.FieldChange) bool { return f.GetBefore() != "" }) ||
		!slices.ContainsFunc(changes, func(f *pb.FieldChange) bool { return f.GetAfter() != "" })
	for _, f := range shown {
		if oneSide {
			p.Hang(indent, layout.Clean(f.GetLabel()), width, layout.Dim, f.GetBefore()+f.GetAfter(), "")
			continue
		}
		fieldChange(p, indent, width, f)
	}
	if len(texts) > 0 {
		p.Text(indent, layout.Dim, "reworded: "+strings.Join(texts, ", "))
	}
}

// fieldChange writes one field, before → after. What is too long for one line is
// written on two.
func fieldChange(p *layout.Page, indent, width int, f *pb.FieldChange) {
	stated := func(s string) string { return cmp.Or(layout.Clean(s), "not stated") }
	label, before, after := layout.Clean(f.GetLabel()), stated(f.GetBefore()), stated(f.GetAfter())
	if layout.Width(before)+layout.Width(after)+3 <= p.Width-indent-width {
		p.Hang(indent, label, width, layout.Dim, before+" → "+after, "")
		return
	}
	p.Hang(indent, label, width, layout.Dim, before, "")
	p.Hang(indent+width, "→", 2, "", after, "")
}
