package spec

import (
	"fmt"
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// optionRelations checks what options say about each other.
func (l *linter) optionRelations() {
	options := l.sheet.GetOptions()
	byID := make(map[string]*pb.Option, len(options))
	ids := make([]string, len(options))
	for i, option := range options {
		ids[i] = option.GetId()
		byID[option.GetId()] = option
	}
	for i, option := range options {
		refer := func(field string, others []string) {
			for j, other := range others {
				at := fmt.Sprintf("options[%d].%s[%d]", i, field, j)
				if other == option.GetId() {
					l.add(at, "%q names itself", other)
				} else if byID[other] == nil {
					l.add(at, "got %q, want an option of this sheet%s", other, suggest(other, ids))
				}
			}
		}
		refer("requires", option.GetRequires())
		refer("excludes", option.GetExcludes())
		for j, required := range option.GetRequires() {
			if byID[required] != nil && required != option.GetId() && exclude(option, byID[required]) {
				l.add(fmt.Sprintf("options[%d].requires[%d]", i, j), "%q is both required and excluded", required)
			}
		}
	}
	circle := cycle(ids, func(id string) []string {
		return slices.DeleteFunc(slices.Clone(byID[id].GetRequires()), func(other string) bool { return other == id })
	})
	if circle != nil {
		l.add(fmt.Sprintf("options[%d].requires", slices.Index(ids, circle[0])),
			"requirements go in a circle: %s", inWords(circle, " requires "))
	}
}

// amendments tries every option, every pair of options that can be fitted
// together, and every bulletin alone and with each of those. That is enough for
// all sets; see [Revision.Resolve].
func (l *linter) amendments(base *content, known map[string]int) {
	t := &trial{linter: l, base: base, known: known, told: make(map[string]bool)}
	// A circle among the sheet's own characteristics is told already.
	_, cyclic := inJobOrder(l.sheet.GetCharacteristics())
	t.told["characteristics"] = cyclic > 0
	options, bulletins := l.sheet.GetOptions(), l.sheet.GetBulletins()
	for i, option := range options {
		t.additions(fmt.Sprintf("options[%d].amendment", i), option.GetAmendment())
		t.options(option)
	}
	for i, bulletin := range bulletins {
		t.additions(fmt.Sprintf("bulletins[%d].amendment", i), bulletin.GetAmendment())
		t.targets(fmt.Sprintf("bulletins[%d].amendment", i), bulletin.GetAmendment())
		t.bulletins(nil, i)
	}
	for i, option := range options {
		for _, later := range options[i+1:] {
			t.options(option, later)
		}
		for j := range bulletins {
			t.bulletins(option, j)
		}
	}
	for i := range bulletins {
		for j := range bulletins[:i] {
			t.bulletins(nil, j, i)
		}
	}
}

// trial applies amendments to see whether they can be applied.
type trial struct {
	*linter
	base  *content
	known map[string]int
	// told holds the paths that have a problem already, which larger sets would
	// only repeat.
	told map[string]bool
}

// additions checks what an amendment adds, by itself.
func (t *trial) additions(path string, a *pb.Amendment) {
	for i, ch := range a.GetAdd() {
		at := fmt.Sprintf("%s.add[%d]", path, i)
		t.characteristic(at, ch)
		t.references(at, ch, t.known)
	}
	for i, ch := range a.GetOverride() {
		t.references(fmt.Sprintf("%s.override[%d]", path, i), ch, t.known)
	}
}

// targets checks that what a bulletin changes exists with some set of options.
func (t *trial) targets(path string, a *pb.Amendment) {
	check := func(at, id string) {
		if _, ok := t.known[id]; !ok {
			t.add(at, "got %q, want a characteristic of this sheet%s", id, suggest(id, sortedKeys(t.known)))
		}
	}
	for i, id := range a.GetRemove() {
		check(fmt.Sprintf("%s.remove[%d]", path, i), id)
	}
	for i, ch := range a.GetOverride() {
		check(fmt.Sprintf("%s.override[%d].id", path, i), ch.GetId())
	}
	for i, id := range a.GetRemoveRules() {
		if !t.ruleKnown(id) {
			t.add(fmt.Sprintf("%s.remove_rules[%d]", path, i), "got %q, want a rule of this sheet", id)
		}
	}
}

func (t *trial) ruleKnown(id string) bool {
	lists := [][]*pb.Rule{t.sheet.GetRules()}
	for _, option := range t.sheet.GetOptions() {
		lists = append(lists, option.GetAmendment().GetAddRules())
	}
	for _, bulletin := range t.sheet.GetBulletins() {
		lists = append(lists, bulletin.GetAmendment().GetAddRules())
	}
	return slices.ContainsFunc(lists, func(list []*pb.Rule) bool {
		return slices.ContainsFunc(list, func(r *pb.Rule) bool { return r.GetId() == id })
	})
}

// closure returns places of options, with all that they require, in sheet
// order; and whether they can be fitted together.
func (t *trial) closure(wanted []*pb.Option) (places []int, ok bool) {
	all := t.sheet.GetOptions()
	in := make([]bool, len(all))
	var take func(id string)
	take = func(id string) {
		for i, option := range all {
			if option.GetId() == id && !in[i] {
				in[i] = true
				for _, required := range option.GetRequires() {
					take(required)
				}
			}
		}
	}
	for _, option := range wanted {
		take(option.GetId())
	}
	var fitted []*pb.Option
	for i, option := range all {
		if in[i] {
			places = append(places, i)
			fitted = append(fitted, option)
		}
	}
	conflicts, unmet := disagreements(fitted)
	return places, len(conflicts) == 0 && len(unmet) == 0
}

// options applies options and what they require, and checks what comes out.
// An option that cannot be fitted at all is a problem; two that cannot be
// fitted together are not.
func (t *trial) options(wanted ...*pb.Option) *content {
	places, ok := t.closure(wanted)
	if !ok {
		if len(wanted) == 1 && len(places) > 0 {
			i := slices.Index(t.sheet.GetOptions(), wanted[0])
			t.add(fmt.Sprintf("options[%d].requires", i), "%q cannot be fitted: what it requires, directly or not, excludes itself or is missing",
				wanted[0].GetId())
		}
		return nil
	}
	c := t.base.clone()
	for _, i := range places {
		option := t.sheet.GetOptions()[i]
		suffix := ""
		if len(places) > 1 {
			suffix = fmt.Sprintf(" (fitted: %s)", t.optionNames(places))
		}
		t.apply(c, fmt.Sprintf("options[%d].amendment", i), option.GetId(), option.GetAmendment(), strict, suffix)
	}
	return c
}

// bulletins applies bulletins, on top of an option unless it is nil.
func (t *trial) bulletins(option *pb.Option, places ...int) {
	c, suffix := t.base.clone(), ""
	if option != nil {
		if c = t.options(option); c == nil {
			return
		}
		suffix = fmt.Sprintf(" (fitted: %s)", option.GetId())
	}
	for _, i := range places {
		bulletin := t.sheet.GetBulletins()[i]
		path := fmt.Sprintf("bulletins[%d].amendment", i)
		for j, ch := range bulletin.GetAmendment().GetAdd() {
			if _, there := c.place[ch.GetId()]; there && !slices.Contains(bulletin.GetAmendment().GetRemove(), ch.GetId()) {
				t.tell(fmt.Sprintf("%s.add[%d].id", path, j), fmt.Sprintf("got %q, which is there already%s", ch.GetId(), suffix))
			}
		}
		t.apply(c, path, bulletin.GetId(), bulletin.GetAmendment(), lax, suffix)
	}
}

// apply applies one amendment and checks the characteristics it changed.
func (t *trial) apply(c *content, path, by string, a *pb.Amendment, how strictness, suffix string) {
	for _, p := range c.apply(by, a, how) {
		t.tell(path+"."+p.Path, p.Message+suffix)
	}
	for i, override := range a.GetOverride() {
		ch := c.get(override.GetId())
		if ch == nil {
			continue
		}
		at := fmt.Sprintf("%s.override[%d]", path, i)
		sub := &linter{sheet: t.sheet, seen: make(map[Problem]bool)}
		sub.shape(at, ch)
		sub.characteristic(at, ch)
		for _, p := range sub.problems {
			t.tell(p.Path, p.Message+suffix)
		}
	}
	if left, _ := c.left(); !t.told["characteristics"] && !t.told[path+".order"] {
		before := len(t.problems)
		t.order(path, left, fmt.Sprintf(" (with %s)", by))
		t.told[path+".order"] = len(t.problems) > before
	}
}

// tell notes a problem of an amendment unless its path has one.
func (t *trial) tell(path, message string) {
	if !t.told[path] {
		t.told[path] = true
		t.add(path, "%s", message)
	}
}

func (t *trial) optionNames(places []int) string {
	ids := make([]string, len(places))
	for i, p := range places {
		ids[i] = t.sheet.GetOptions()[p].GetId()
	}
	return inWords(ids, ", ")
}
