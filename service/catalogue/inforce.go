package catalogue

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/vin"
)

// Query asks which revision is in force for a machine.
type Query struct {
	// Model is the name of the model or one of its other names; case, spaces and
	// hyphens do not matter, and neither does the maker's name in front.
	Model string
	// ModelYear and Market are the machine's.
	ModelYear int
	Market    string
	// VIN is the machine's, empty when it is not known.
	VIN vin.VIN
	// AsOf is when it has to be in force. The zero time stands for the end of
	// time.
	AsOf time.Time
	// Known is until when changes count: those that were recorded later are as if
	// they had not been made. The zero time stands for all that are known now.
	Known time.Time
}

// what is asked for, in words.
func (q Query) what() string {
	what := fmt.Sprintf("model %q", q.Model)
	if q.ModelYear != 0 {
		what += fmt.Sprintf(" of %d", q.ModelYear)
	}
	if q.Market != "" {
		what += " in " + q.Market
	}
	return what
}

// Choice is a revision that was chosen.
type Choice struct {
	// SpecID, Revision and Digest name it.
	SpecID   string
	Revision int
	Digest   string
	// Why is one sentence about why it is this one: "revision 2 of
	// scree-200i-2026-eu, in force from 2026-03-01; revision 3 begins
	// 2026-06-01".
	Why string
}

// InForce returns the revision that is in force for a machine. Of one spec that
// is the newest that begins at q.AsOf or before, was recorded at q.Known or
// before, and was not withdrawn then.
//
// Where one spec of the model, year and market has such a revision, that is it,
// even for a VIN that it does not cover: judging says so. Where several have,
// the VIN decides. It is the one that covers the VIN; a *[AmbiguousError] when
// several do. Where the VIN is not known, or none covers it, it is the one that
// covers most VINs, the first by identifier among equals: no machine is accepted
// so, since a record without a VIN, and one whose VIN is not covered, is
// rejected. Why says which of these it was.
//
// Other errors are a *[spec.NotFoundError], with suggestions, when there is no
// such model; a *[spec.NotInForceError], as it is or in a *[NotInForceError],
// when nothing of it is in force; a *[StaleError]; [ErrClosed]; ctx's.
func (c *Catalogue) InForce(ctx context.Context, q Query) (Choice, error) {
	return fresh(ctx, c, func() (Choice, error) { return c.inForce(q) })
}

// InForceByID is [Catalogue.InForce] for one spec.
func (c *Catalogue) InForceByID(ctx context.Context, specID string, asOf, known time.Time) (Choice, error) {
	return fresh(ctx, c, func() (Choice, error) {
		s := c.index.spec(specID)
		if s == nil {
			return Choice{}, noSpec(specID, c.index.ids())
		}
		h, err := s.inForce(asOf, known)
		if err != nil {
			return Choice{}, err
		}
		return chosen(s, h, asOf, known, ""), nil
	})
}

// Seek is [Catalogue.InForce] for what a person says: q.Model may be a spec's
// identifier, first words or a beginning of a name, or be mistyped, and have the
// year in it; q.ModelYear may be nought for the newest that is in force, and
// q.Market empty for the first. With a VIN only specs that cover it will do: a
// *[spec.NotFoundError] says when none does, and when what was said is the name
// of none and like several models. A name that is not one is compared with all
// names there are.
func (c *Catalogue) Seek(ctx context.Context, q Query) (Choice, error) {
	return fresh(ctx, c, func() (Choice, error) { return c.seek(q) })
}

// candidate is a spec with its revision in force.
type candidate struct {
	spec *history
	head *Head
}

func (c *Catalogue) inForce(q Query) (Choice, error) {
	called := c.index.called(spec.FoldModel(q.Model))
	var candidates []candidate
	var first error
	for _, s := range called {
		if newest := s.newest(); newest.ModelYear != q.ModelYear || newest.Market != q.Market {
			continue
		}
		h, err := s.inForce(q.AsOf, q.Known)
		switch {
		case err == nil:
			candidates = append(candidates, candidate{s, h})
		case first == nil:
			first = err
		}
	}
	switch {
	case len(candidates) > 0:
		return q.choose(candidates)
	case first != nil:
		return Choice{}, first
	}
	missing := &spec.NotFoundError{What: q.what()}
	if len(called) > 0 {
		missing.Suggestions = descriptions(called)
	} else {
		missing.Suggestions = nearModels(q.Model, c.index.all())
	}
	return Choice{}, missing
}

// choose takes one of several specs of one model, year and market.
func (q Query) choose(candidates []candidate) (Choice, error) {
	var covering []candidate
	for _, one := range candidates {
		if q.VIN != "" && one.head.CoversVIN(q.VIN) {
			covering = append(covering, one)
		}
	}
	several := len(candidates) > 1
	one, note := candidates[0], ""
	switch {
	case len(covering) == 1:
		one = covering[0]
		if several {
			note = fmt.Sprintf("of %d specs of this model it is the one that covers the VIN %s", len(candidates), q.VIN)
		}
	case len(covering) > 1:
		ambiguous := &AmbiguousError{What: q.what(), VIN: q.VIN}
		for _, one := range covering {
			ambiguous.SpecIDs = append(ambiguous.SpecIDs, one.spec.id)
		}
		return Choice{}, ambiguous
	case several:
		one = slices.MaxFunc(candidates, func(a, b candidate) int {
			switch wa, wb := a.head.width(), b.head.width(); {
			case wa < wb:
				return -1
			case wa > wb:
				return 1
			}
			return 0
		})
		note = "no VIN is known, and"
		if q.VIN != "" {
			note = fmt.Sprintf("no spec of this model covers the VIN %s, and", q.VIN)
		}
		note += fmt.Sprintf(" of the %d there are this one covers most", len(candidates))
	case q.VIN != "":
		note = fmt.Sprintf("it does not cover the VIN %s, and there is no other spec of this model", q.VIN)
	}
	return chosen(one.spec, one.head, q.AsOf, q.Known, note), nil
}

func (c *Catalogue) seek(q Query) (Choice, error) {
	var specs []*history
	how := spec.Named
	if s := c.index.spec(q.Model); s != nil {
		q.ModelYear, q.Market = 0, ""
		specs = []*history{s}
	} else {
		var err error
		if specs, how, err = c.meant(&q); err != nil {
			return Choice{}, err
		}
	}
	// The newest year first; among equals by identifier, as they are.
	slices.SortStableFunc(specs, func(a, b *history) int { return b.newest().ModelYear - a.newest().ModelYear })
	var found []candidate
	var notYet error
	uncovered := false
	for _, s := range specs {
		h, err := s.inForce(q.AsOf, q.Known)
		switch {
		case err == nil && q.VIN != "" && !h.CoversVIN(q.VIN):
			uncovered = true
		case err == nil:
			found = append(found, candidate{s, h})
		case notYet == nil:
			notYet = err
		}
	}
	switch {
	case len(found) == 0 && uncovered:
		return Choice{}, &spec.NotFoundError{What: fmt.Sprintf("sheet of %s that covers the unit %s", q.what(), q.VIN)}
	case len(found) == 0:
		return Choice{}, notYet
	}
	if how != spec.Named && slices.ContainsFunc(found, func(other candidate) bool { return !sameModel(other.head, found[0].head) }) {
		heads := make([]*Head, len(found))
		for i, one := range found {
			heads[i] = one.head
		}
		return Choice{}, &spec.NotFoundError{What: "single " + q.what(), Suggestions: models(heads)}
	}
	// What shares year and market with the first is told apart by VIN alone.
	first := found[0].head
	return q.choose(slices.DeleteFunc(found, func(one candidate) bool {
		return one.head.ModelYear != first.ModelYear || one.head.Market != first.Market || !sameModel(one.head, first)
	}))
}

// meant returns the specs, by identifier, that a person means by q.Model, in the
// year and the market of q. A year in q.Model is put into q.ModelYear where it
// counts.
func (c *Catalogue) meant(q *Query) ([]*history, spec.Likeness, error) {
	var all []*history // only what is not a name is compared with all of them
	search := func(text string) ([]*history, spec.Likeness) {
		if text == "" {
			return nil, spec.Unlike
		}
		if specs := c.index.called(text); len(specs) > 0 {
			return specs, spec.Named
		}
		if all == nil {
			all = c.index.all()
		}
		return like(text, all)
	}
	specs, how := search(spec.FoldModel(q.Model))
	if rest, year, ok := spec.CutYear(q.Model); ok && how != spec.Named && (q.ModelYear == 0 || q.ModelYear == year) {
		if cut, better := search(spec.FoldModel(rest)); better < how {
			specs, how, q.ModelYear = cut, better, year
		}
	}
	if len(specs) == 0 {
		return nil, how, &spec.NotFoundError{What: q.what(), Suggestions: nearModels(q.Model, c.index.all())}
	}
	fitting := slices.DeleteFunc(slices.Clone(specs), func(s *history) bool {
		h := s.newest()
		return q.ModelYear != 0 && h.ModelYear != q.ModelYear || q.Market != "" && h.Market != q.Market
	})
	if len(fitting) == 0 {
		return nil, how, &spec.NotFoundError{What: q.what(), Suggestions: descriptions(specs)}
	}
	return fitting, how, nil
}

// sameModel reports whether two revisions are for one model: of one maker, with
// a name in common.
func sameModel(a, b *Head) bool {
	if a.Make != b.Make {
		return false
	}
	for _, one := range modelNames(a) {
		for _, other := range modelNames(b) {
			if spec.FoldModel(one) == spec.FoldModel(other) {
				return true
			}
		}
	}
	return false
}

// descriptions names specs as people do, at most [spec.MaxSuggestions], each once.
func descriptions(specs []*history) []string {
	var names []string
	for _, s := range specs {
		h := s.newest()
		name := fmt.Sprintf("%s %d %s", h.Model, h.ModelYear, h.Market)
		if len(names) < spec.MaxSuggestions && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

// inForce returns the revision in force.
func (s *history) inForce(asOf, known time.Time) (*Head, error) {
	for _, h := range slices.Backward(s.heads) {
		if h.begun(asOf) && h.counts(known) {
			return h, nil
		}
	}
	return nil, s.notInForce(asOf, known)
}

// begun reports whether the revision begins at that time or before.
func (h *Head) begun(asOf time.Time) bool { return asOf.IsZero() || !h.EffectiveTime.After(asOf) }

// notInForce is the error for a spec that has nothing in force.
func (s *history) notInForce(asOf, known time.Time) error {
	var why []string
	first, withdrawn, unknown := time.Time{}, (*Head)(nil), (*Head)(nil)
	for _, h := range s.heads {
		switch {
		case !h.recordedBy(known):
			if unknown == nil {
				unknown = h
			}
		case h.withdrawnBy(known):
			if h.begun(asOf) {
				withdrawn = h
			}
		case first.IsZero() || h.EffectiveTime.Before(first):
			first = h.EffectiveTime
		}
	}
	plain := spec.NotInForceError{Spec: s.id, AsOf: asOf, First: first}
	if withdrawn == nil && !first.IsZero() {
		return &plain
	}
	if withdrawn != nil {
		why = append(why, withdrawal(withdrawn))
	}
	if !first.IsZero() {
		why = append(why, "the next one begins "+instant(first))
	} else {
		plain.First = s.heads[0].EffectiveTime
	}
	if unknown != nil {
		why = append(why, lateness(unknown))
	}
	if len(why) == 0 { // all that there were are withdrawn, and would begin later
		why = append(why, "every revision was withdrawn")
	}
	return &NotInForceError{NotInForceError: plain, Known: known, Why: strings.Join(why, "; ")}
}
