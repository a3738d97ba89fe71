package spec

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

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
	case how != named && slices.ContainsFunc(found, another):
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
func (l *Library) seekSpecs(q Query) (ids []string, how likeness, what string, err error) {
	what = fmt.Sprintf("model %q", q.Model)
	if _, ok := l.specs[q.Model]; ok {
		return []string{q.Model}, named, what, nil
	}
	year := q.ModelYear
	ids, how = l.like(foldModel(q.Model))
	if rest, y, ok := cutYear(q.Model); ok && how != named && (year == 0 || year == y) {
		if cut, better := l.like(foldModel(rest)); better < how {
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
		for _, id := range ids[:min(maxSuggestions, len(ids))] {
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

// likeness is how a text is like a name of a model; less is better.
type likeness int

const (
	named   likeness = iota // it is the name
	leading                 // it is its first words
	begun                   // it begins it
	slipped                 // it is one slip from the name or its first words; then one more for each
	unlike  = slipped + 100
)

// like returns the specs, sorted, that have a name most like the folded text,
// and how it is like it. The slice may be shared. Names are the model's, its other names, and each with
// the maker's before it; so the maker's alone is first words too. Slips are
// forgiven as far as [near.Trusted], but none in a number, unless one digit of
// several was left out or put in: a model of another number is another model.
func (l *Library) like(text string) (ids []string, how likeness) {
	if text == "" {
		return nil, unlike
	}
	if ids := l.names[text]; len(ids) > 0 {
		return ids, named
	}
	limit := near.Trusted(utf8.RuneCountInString(text))
	numbers := digits(text)
	how = unlike
	found := make(map[string]bool)
	for lead, ids := range l.leads {
		likely := unlike
		if lead == text {
			likely = leading
		} else if len(text) >= 3 && strings.HasPrefix(lead, text) {
			likely = begun
		} else if limit > 0 {
			if d := near.Distance(text, lead, limit); d <= limit && sameNumber(numbers, digits(lead)) {
				likely = slipped + likeness(d-1)
			}
		}
		if likely < how {
			how = likely
			clear(found)
		}
		if likely == how && likely < unlike {
			for _, id := range ids {
				found[id] = true
			}
		}
	}
	return slices.Sorted(maps.Keys(found)), how
}

// sameNumber reports whether the digits of two names are the same but for one,
// of two at least, left out.
func sameNumber(a, b string) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	return a == b || len(a) > 1 && len(a)+1 == len(b) && near.Distance(a, b, 1) == 1
}

func digits(s string) string {
	return strings.Map(func(r rune) rune {
		if r < '0' || r > '9' {
			return -1
		}
		return r
	}, s)
}

// sameModel reports whether two sheets, of other years or markets perhaps, are
// for one model: they have a name in common.
func sameModel(a, b *pb.SpecSheet) bool {
	return a.GetMake() == b.GetMake() && slices.ContainsFunc(modelNames(a), func(name string) bool { return isNamed(b, name) })
}

// models returns the names of the models of the sheets, each once, at most
// [maxSuggestions].
func models(revisions []*Revision) []string {
	var names []string
	for _, r := range revisions {
		if name := r.sheet.GetModel(); len(names) < maxSuggestions && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

// cutYear takes a model year out of the words of a name.
func cutYear(model string) (rest string, year int, ok bool) {
	fields := strings.Fields(model)
	for i, field := range fields {
		if y, err := strconv.Atoi(field); err == nil && y >= 1980 && y <= 2100 {
			return strings.Join(slices.Delete(fields, i, i+1), " "), y, true
		}
	}
	return "", 0, false
}

// nearModels returns up to [maxSuggestions] models of which a name, or its first
// words, is near what was written, with or without a year in it: nearest first,
// then by identifier of the spec. Each is called by its own name, whichever is
// near.
func (l *Library) nearModels(model string) []string {
	written := []string{foldModel(model)}
	if rest, _, ok := cutYear(model); ok {
		written = append(written, foldModel(rest))
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
