package spec

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"
)

// seekModel finds the spec that a person means: by identifier, by name or other
// name, by the beginning of one, or by one with typing errors. A year among the
// words counts as the model year unless one is given. Among several specs the
// newest model year that is in force is taken, then the first by identifier.
func (l *Library) seekModel(model string, year int, market string, asOf time.Time) (*Revision, error) {
	if _, ok := l.specs[model]; ok {
		return l.InForceByID(model, asOf)
	}
	ids := l.like(foldModel(model))
	if len(ids) == 0 {
		if rest, y, ok := cutYear(model); ok && (year == 0 || year == y) {
			year = y
			ids = l.like(foldModel(rest))
		}
	}
	what := fmt.Sprintf("model %q", model)
	if year != 0 {
		what += fmt.Sprintf(" of %d", year)
	}
	if market != "" {
		what += " in " + market
	}
	if len(ids) == 0 {
		return nil, &NotFoundError{What: what, Suggestions: l.nearModels(model)}
	}
	fitting := slices.DeleteFunc(slices.Clone(ids), func(id string) bool {
		s := l.newest(id).sheet
		return year != 0 && int(s.GetModelYear()) != year || market != "" && s.GetMarket() != market
	})
	if len(fitting) == 0 {
		missing := &NotFoundError{What: what}
		for _, id := range ids[:min(5, len(ids))] {
			missing.Suggestions = append(missing.Suggestions, l.describe(id))
		}
		return nil, missing
	}
	slices.SortFunc(fitting, func(a, b string) int {
		if ya, yb := l.newest(a).sheet.GetModelYear(), l.newest(b).sheet.GetModelYear(); ya != yb {
			return int(yb - ya)
		}
		return strings.Compare(a, b)
	})
	var notYet error
	for _, id := range fitting {
		r, err := l.InForceByID(id, asOf)
		if err == nil {
			return r, nil
		}
		if notYet == nil {
			notYet = err
		}
	}
	return nil, notYet
}

// like returns the specs, sorted, whose folded names are most like key: the
// same; or else beginning with it; or else few typing errors away.
func (l *Library) like(key string) []string {
	if key == "" {
		return nil
	}
	if ids := l.names[key]; len(ids) > 0 {
		return ids
	}
	const worst = 3
	best := worst
	found := make(map[string]bool)
	for name, ids := range l.names {
		d := worst
		if len(key) >= 3 && strings.HasPrefix(name, key) {
			d = 0
		} else if limit := forgiven(key); limit > 0 {
			if e := editDistance(key, name, limit); e <= limit && sameNumber(digits(key), digits(name)) {
				d = e
			}
		}
		if d < best {
			best = d
			clear(found)
		}
		if d == best && d < worst {
			for _, id := range ids {
				found[id] = true
			}
		}
	}
	return slices.Sorted(maps.Keys(found))
}

// sameNumber reports whether the digits of two names are the same but for one
// left out. A model of another number is another model, not a typing error.
func sameNumber(a, b string) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	return a == b || len(a)+1 == len(b) && editDistance(a, b, 1) == 1
}

func digits(s string) string {
	return strings.Map(func(r rune) rune {
		if r < '0' || r > '9' {
			return -1
		}
		return r
	}, s)
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

// nearModels returns up to five names of models like the one given.
func (l *Library) nearModels(model string) []string {
	var names []string
	for _, id := range l.ids {
		s := l.newest(id).sheet
		names = append(names, s.GetModel())
		names = append(names, s.GetModelAliases()...)
	}
	return nearest(model, names, 5)
}
