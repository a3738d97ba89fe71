package catalogue

import (
	"slices"
	"strconv"

	"github.com/snapgauge/snapgauge/service/near"
	"github.com/snapgauge/snapgauge/service/spec"
)

// How a text is like the name of a model is for package spec to say; this file
// looks for it among heads, as its library does among sheets. TestMatchesAsLibrary
// holds the two together.

// modelNames returns the names by which a record may call the model of a head.
func modelNames(h *Head) []string { return spec.ModelNames(h.Make, h.Model, h.ModelAliases) }

// like returns those of the specs that have a name most like the folded text,
// and how it is like it, as [spec.ModelText.Like] has it.
func like(text string, specs []*history) (found []*history, how spec.Likeness) {
	if text == "" {
		return nil, spec.Unlike
	}
	how = spec.Unlike
	said := spec.ReadModel(text)
	for _, s := range specs {
		likely := spec.Unlike
		if slices.Contains(s.names, text) {
			likely = spec.Named
		} else {
			for _, lead := range s.leads {
				likely = min(likely, said.Like(lead))
			}
		}
		if likely < how {
			how, found = likely, nil
		}
		if likely == how && likely < spec.Unlike {
			found = append(found, s)
		}
	}
	return found, how
}

// nearModels returns up to [spec.MaxSuggestions] models of which a name, or its first
// words, is near what was written, with or without a year in it: nearest first,
// then by identifier of the spec. The specs are sorted by that.
func nearModels(model string, specs []*history) []string {
	written := []string{spec.FoldModel(model)}
	if rest, _, ok := spec.CutYear(model); ok {
		written = append(written, spec.FoldModel(rest))
	}
	type candidate struct {
		spec     *history
		distance int
	}
	var candidates []candidate
	for _, s := range specs {
		least := -1
		for _, lead := range s.leads {
			for _, text := range written {
				if d, ok := near.Measure(text, lead); ok && (least < 0 || d < least) {
					least = d
				}
			}
		}
		if least >= 0 {
			candidates = append(candidates, candidate{s, least})
		}
	}
	slices.SortStableFunc(candidates, func(a, b candidate) int { return a.distance - b.distance })
	heads := make([]*Head, len(candidates))
	for i, c := range candidates {
		heads[i] = c.spec.newest()
	}
	return models(heads)
}

// models returns the names of the models, each once, at most [spec.MaxSuggestions].
func models(heads []*Head) []string {
	var names []string
	for _, h := range heads {
		if len(names) < spec.MaxSuggestions && !slices.Contains(names, h.Model) {
			names = append(names, h.Model)
		}
	}
	return names
}

// noSpec is the error for an identifier that no spec has.
func noSpec(specID string, ids []string) error {
	return &spec.NotFoundError{What: "spec " + strconv.Quote(specID), Suggestions: near.Names(specID, ids, spec.MaxSuggestions)}
}
