package spec

import (
	"fmt"
	"maps"
	"slices"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/near"
)

// Library is an immutable set of revisions, arranged for finding. It is safe
// for concurrent use. The service answers by the live catalogue instead, which is
// held to the library's answers by its tests.
type Library struct {
	ids   []string               // of the specs, sorted
	specs map[string][]*Revision // oldest first
	names map[string][]string    // folded name of a model to its specs, sorted
	leads map[string][]string    // folded leading words of such names to their specs, sorted
}

// NewLibrary arranges revisions. It returns a *[SheetError] with everything
// that keeps them from standing together: a number given twice in one spec,
// effective times that do not rise with the numbers, revisions of one spec that
// differ in make, model year or market, two specs for the same model, model
// year and market. Numbers may have gaps. An empty library is one in which
// nothing is found.
func NewLibrary(revs []*Revision) (*Library, error) {
	l := &Library{specs: make(map[string][]*Revision), names: make(map[string][]string), leads: make(map[string][]string)}
	for _, r := range revs {
		l.specs[r.SpecID()] = append(l.specs[r.SpecID()], r)
	}
	l.ids = slices.Sorted(maps.Keys(l.specs))
	var problems []Problem
	problem := func(r *Revision, path, format string, args ...any) {
		problems = append(problems, Problem{Path: path, Message: r.Name() + ": " + fmt.Sprintf(format, args...)})
	}
	for _, id := range l.ids {
		list := l.specs[id]
		slices.SortStableFunc(list, func(a, b *Revision) int { return a.Number() - b.Number() })
		for i, r := range list[1:] {
			before := list[i]
			switch {
			case r.Number() == before.Number():
				problem(r, "revision", "there are two revisions of this number")
			case !r.effective.After(before.effective):
				problem(r, "effective_time", "got %s, want later than %s of revision %d",
					r.effective.Format(time.RFC3339), before.effective.Format(time.RFC3339), before.Number())
			}
			if a, b := r.sheet, before.sheet; a.GetMake() != b.GetMake() || a.GetModelYear() != b.GetModelYear() || a.GetMarket() != b.GetMarket() {
				problem(r, "", "got %s %d %s, want the make, model year and market of revision %d: %s %d %s",
					a.GetMake(), a.GetModelYear(), a.GetMarket(), before.Number(), b.GetMake(), b.GetModelYear(), b.GetMarket())
			}
		}
		for _, r := range list {
			for _, name := range namesOf(r.sheet) {
				note(l.names, FoldModel(name), id)
				for _, lead := range LeadingWords(name) {
					note(l.leads, lead, id)
				}
			}
		}
	}
	problems = append(problems, l.ambiguities()...)
	if len(problems) > 0 {
		return nil, &SheetError{Problems: problems}
	}
	return l, nil
}

// note adds a spec to those of a name unless it is there.
func note(names map[string][]string, name, specID string) {
	if !slices.Contains(names[name], specID) {
		names[name] = append(names[name], specID)
	}
}

// ambiguities tells which specs cannot be told apart by what a record says of
// its unit.
func (l *Library) ambiguities() []Problem {
	var problems []Problem
	told := make(map[[2]string]bool)
	for _, key := range slices.Sorted(maps.Keys(l.names)) {
		ids := l.names[key]
		for i, a := range ids {
			for _, b := range ids[i+1:] {
				one, other := l.newest(a), l.newest(b)
				if one.sheet.GetModelYear() == other.sheet.GetModelYear() &&
					one.sheet.GetMarket() == other.sheet.GetMarket() && !told[[2]string{a, b}] {
					told[[2]string{a, b}] = true
					problems = append(problems, Problem{Path: "model", Message: fmt.Sprintf(
						"%s and %s are both for a %q of %d in %s", a, b, one.sheet.GetModel(),
						one.sheet.GetModelYear(), one.sheet.GetMarket())})
				}
			}
		}
	}
	return problems
}

func (l *Library) newest(specID string) *Revision {
	list := l.specs[specID]
	return list[len(list)-1]
}

// SpecIDs returns the identifiers of all specs, sorted. The slice is the
// caller's.
func (l *Library) SpecIDs() []string { return slices.Clone(l.ids) }

// Revisions returns the revisions of a spec, newest first, or a
// *[NotFoundError]. The slice is the caller's.
func (l *Library) Revisions(specID string) ([]*Revision, error) {
	list, ok := l.specs[specID]
	if !ok {
		return nil, l.noSpec(specID)
	}
	list = slices.Clone(list)
	slices.Reverse(list)
	return list, nil
}

// Revision returns one revision of a spec, or a *[NotFoundError].
func (l *Library) Revision(specID string, number int) (*Revision, error) {
	list, ok := l.specs[specID]
	if !ok {
		return nil, l.noSpec(specID)
	}
	for _, r := range list {
		if r.Number() == number {
			return r, nil
		}
	}
	return nil, &NotFoundError{
		What:        fmt.Sprintf("revision %d of spec %q", number, specID),
		Suggestions: []string{l.newest(specID).Name()},
	}
}

func (l *Library) noSpec(specID string) error {
	return &NotFoundError{What: fmt.Sprintf("spec %q", specID), Suggestions: near.Names(specID, l.ids, MaxSuggestions)}
}

// InForceByID returns the revision of a spec that is in force at a time: the
// newest that does not begin later. It returns a *[NotFoundError] when there is
// no such spec, a *[NotInForceError] when all its revisions begin later.
func (l *Library) InForceByID(specID string, asOf time.Time) (*Revision, error) {
	list, ok := l.specs[specID]
	if !ok {
		return nil, l.noSpec(specID)
	}
	for _, r := range slices.Backward(list) {
		if !r.effective.After(asOf) {
			return r, nil
		}
	}
	return nil, &NotInForceError{Spec: specID, AsOf: asOf, First: list[0].effective}
}

// InForce returns the revision in force at a time for a model, model year and
// market. The model is its name or one of its other names; case, spaces and
// hyphens do not matter, and neither does the maker's name in front. It returns
// a *[NotFoundError] or a *[NotInForceError] as [Library.InForceByID] does.
func (l *Library) InForce(model string, year int, market string, asOf time.Time) (*Revision, error) {
	key := FoldModel(model)
	for _, id := range l.names[key] {
		if s := l.newest(id).sheet; int(s.GetModelYear()) == year && s.GetMarket() == market {
			return l.InForceByID(id, asOf)
		}
	}
	missing := &NotFoundError{What: fmt.Sprintf("model %q of %d in %s", model, year, market)}
	if ids := l.names[key]; len(ids) > 0 {
		for _, id := range ids {
			missing.Suggestions = append(missing.Suggestions, l.describe(id))
		}
		missing.Suggestions = missing.Suggestions[:min(MaxSuggestions, len(ids))]
	} else {
		missing.Suggestions = l.nearModels(model)
	}
	return nil, missing
}

// describe names a spec as people do.
func (l *Library) describe(specID string) string {
	s := l.newest(specID).sheet
	return fmt.Sprintf("%s %d %s", s.GetModel(), s.GetModelYear(), s.GetMarket())
}

// namesOf returns the [ModelNames] of a sheet.
func namesOf(s *pb.SpecSheet) []string {
	return ModelNames(s.GetMake(), s.GetModel(), s.GetModelAliases())
}

// isNamed reports whether the name is one of the model's.
func isNamed(s *pb.SpecSheet, name string) bool {
	key := FoldModel(name)
	return slices.ContainsFunc(namesOf(s), func(n string) bool { return FoldModel(n) == key })
}
