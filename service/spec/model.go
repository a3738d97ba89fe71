package spec

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/near"
)

// seekModel finds the revision in force of the spec that a person means, among
// those of [Library.seekSpecs]. Where a unit is named, only a sheet that covers
// it will do. Of several specs the newest model year is taken, then the first by
// identifier; but of several models none, unless what was said is a name of
// theirs: the figures of another model would be worse than none.
func (l *Library) seekModel(q Query, asOf time.Time) (*Revision, error) {
	ids, how, what, err := l.seekSpecs(q)
	if err != nil {
		return nil, err
	}
	var found []*Revision
	var notYet error
	uncovered := false
	for _, id := range ids {
		r, err := l.InForceByID(id, asOf)
		switch {
		case err == nil && q.VIN != "" && !r.CoversVIN(q.VIN):
			uncovered = true
		case err == nil:
			found = append(found, r)
		case notYet == nil:
			notYet = err
		}
	}
	another := func(r *Revision) bool { return !sameModel(r.sheet, found[0].sheet) }
	switch {
	case len(found) == 0 && uncovered:
		return nil, &NotFoundError{What: fmt.Sprintf("sheet of %s that covers the unit %s", what, q.VIN)}
	case len(found) == 0:
		return nil, notYet
	case how != Named && slices.ContainsFunc(found, another):
		return nil, &NotFoundError{What: "single " + what, Suggestions: models(found)}
	}
	return found[0], nil
}

// seekSpecs returns the specs that a person means, at least one, the newest
// model year first, then by identifier: by an identifier, or by what is said of
// the model as [Library.like] reads it, of the model year and market if those are
// given. A year among the words counts as the model year unless one is given.
// It also returns how what is said is like their names, and what that is, in
// words for an error.
func (l *Library) seekSpecs(q Query) (ids []string, how Likeness, what string, err error) {
	what = fmt.Sprintf("model %q", q.Model)
	if _, ok := l.specs[q.Model]; ok {
		return []string{q.Model}, Named, what, nil
	}
	year := q.ModelYear
	ids, how = l.like(FoldModel(q.Model))
	if rest, y, ok := CutYear(q.Model); ok && how != Named && (year == 0 || year == y) {
		if cut, better := l.like(FoldModel(rest)); better < how {
			ids, how, year = cut, better, y
		}
	}
	if year != 0 {
		what += fmt.Sprintf(" of %d", year)
	}
	if q.Market != "" {
		what += " in " + q.Market
	}
	if len(ids) == 0 {
		return nil, how, what, &NotFoundError{What: what, Suggestions: l.nearModels(q.Model)}
	}
	fitting := slices.DeleteFunc(slices.Clone(ids), func(id string) bool {
		s := l.newest(id).sheet
		return year != 0 && int(s.GetModelYear()) != year || q.Market != "" && s.GetMarket() != q.Market
	})
	if len(fitting) == 0 {
		missing := &NotFoundError{What: what}
		for _, id := range ids[:min(MaxSuggestions, len(ids))] {
			missing.Suggestions = append(missing.Suggestions, l.describe(id))
		}
		return nil, how, what, missing
	}
	slices.SortFunc(fitting, func(a, b string) int {
		if ya, yb := l.newest(a).sheet.GetModelYear(), l.newest(b).sheet.GetModelYear(); ya != yb {
			return int(yb - ya)
		}
		return strings.Compare(a, b)
	})
	return fitting, how, what, nil
}

// like returns the specs, sorted, that have a name most like the folded text,
// and how it is like it, as [ModelText.Like] has it. The slice may be shared. Names
// are those of [ModelNames], so the maker's alone is first words too.
func (l *Library) like(text string) (ids []string, how Likeness) {
	if text == "" {
		return nil, Unlike
	}
	if ids := l.names[text]; len(ids) > 0 {
		return ids, Named
	}
	said := ReadModel(text)
	how = Unlike
	found := make(map[string]bool)
	for lead, ids := range l.leads {
		likely := said.Like(lead)
		if likely < how {
			how = likely
			clear(found)
		}
		if likely == how && likely < Unlike {
			for _, id := range ids {
				found[id] = true
			}
		}
	}
	return slices.Sorted(maps.Keys(found)), how
}

// sameModel reports whether two sheets, of other years or markets perhaps, are
// for one model: they have a name in common.
func sameModel(a, b *pb.SpecSheet) bool {
	return a.GetMake() == b.GetMake() && slices.ContainsFunc(namesOf(a), func(name string) bool { return isNamed(b, name) })
}

// models returns the names of the models of the sheets, each once, at most
// [MaxSuggestions].
func models(revisions []*Revision) []string {
	var names []string
	for _, r := range revisions {
		if name := r.sheet.GetModel(); len(names) < MaxSuggestions && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

// nearModels returns up to [MaxSuggestions] models of which a name, or its first
// words, is near what was written, with or without a year in it: nearest first,
// then by identifier of the spec. Each is called by its own name, whichever is
// near.
func (l *Library) nearModels(model string) []string {
	written := []string{FoldModel(model)}
	if rest, _, ok := CutYear(model); ok {
		written = append(written, FoldModel(rest))
	}
	distances := make(map[string]int) // of specs
	for lead, ids := range l.leads {
		for _, text := range written {
			d, ok := near.Measure(text, lead)
			if !ok {
				continue
			}
			for _, id := range ids {
				if least, there := distances[id]; !there || d < least {
					distances[id] = d
				}
			}
		}
	}
	ids := slices.SortedFunc(maps.Keys(distances), func(a, b string) int {
		if distances[a] != distances[b] {
			return distances[a] - distances[b]
		}
		return strings.Compare(a, b)
	})
	revisions := make([]*Revision, len(ids))
	for i, id := range ids {
		revisions[i] = l.newest(id)
	}
	return models(revisions)
}
