package catalogue

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
)

// Publish checks a sheet, appends it to the store as a revision and returns once
// this catalogue answers by it. ifMatch is the etag of the spec's newest
// revision as the caller saw it, "" for a spec that has none. created is false
// when the same content is a revision already, which comes back as it is now,
// whatever ifMatch is. The sheet is not kept.
//
// A sheet that is wrong in itself, or beside what is published, is a
// *[spec.SheetError] with everything that is wrong with it: what [spec.Lint]
// finds, what [gauge.Compile] finds, examples included; a maker, model year or
// market other than that of the spec's revisions; VINs that another spec of the
// model covers in the same year and market, at a time when both would be in
// force. (Two who publish such sheets at once can both succeed; the VINs are
// ambiguous then, see [AmbiguousError].)
//
// The errors of [store.SpecStore].PublishSpec come back as they are. A
// *[StaleError] says that the store did not answer before publishing, a
// *[BehindError] that it is published and that this catalogue could not apply
// it.
//
// With validateOnly nothing is stored, but all is checked, and the revision comes
// back as it would be; only then ifMatch, number and effective time are judged by
// the catalogue, and may be judged otherwise by the store later.
func (c *Catalogue) Publish(ctx context.Context, sheet *pb.SpecSheet, ifMatch string, validateOnly bool) (h *Head, created bool, err error) {
	if validateOnly {
		return c.Preview(ctx, sheet, nil, ifMatch)
	}
	s, h, err := c.before(ctx, sheet)
	if h != nil || err != nil {
		return h, false, err
	}
	r, engine, err := c.check(sheet, s)
	if err != nil {
		return nil, false, err
	}
	p := store.PublishedSpec{Sheet: r.Sheet(), Digest: r.Digest(), RecordedTime: c.cfg.Now()}
	p, created, err = c.store.PublishSpec(ctx, p, ifMatch)
	if err != nil {
		return nil, false, err
	}
	c.sheets.put(p.Digest, r)
	c.engines.put(p.Digest, engine)
	if err := c.reach(ctx, p.Position); err != nil {
		return nil, false, err
	}
	h, err = c.ByNumber(p.SpecID, p.Revision)
	return h, created, err
}

// Preview is [Catalogue.Publish] with validateOnly, as if the assumed sheets, in
// whatever order, had been published before: those of the same spec whose numbers
// follow on the newest revision. They are not checked. ifMatch is the etag of what
// is published.
func (c *Catalogue) Preview(ctx context.Context, sheet *pb.SpecSheet, assumed []*pb.SpecSheet, ifMatch string) (h *Head, created bool, err error) {
	s, h, err := c.before(ctx, sheet)
	if h != nil || err != nil {
		return h, false, err
	}
	now := c.cfg.Now()
	then := s.assuming(sheet, assumed, now)
	r, _, err := c.check(sheet, then)
	if err != nil {
		return nil, false, err
	}
	p := store.PublishedSpec{Sheet: r.Sheet(), Digest: r.Digest(), RecordedTime: now}
	h, err = s.preview(then, p, ifMatch)
	return h, err == nil, err
}

// before gives the spec that a sheet is to be a revision of, nil for a new one,
// as the store has it now; and the revision, where it is one already.
func (c *Catalogue) before(ctx context.Context, sheet *pb.SpecSheet) (*history, *Head, error) {
	if sheet == nil {
		return nil, nil, &spec.SheetError{Problems: []spec.Problem{{Message: "got no sheet, want one"}}}
	}
	if err := c.Level(ctx); err != nil {
		return nil, nil, err
	}
	s := c.index.spec(sheet.GetSpecId())
	if digest, err := spec.Digest(sheet); err == nil {
		return s, s.withDigest(digest), nil
	}
	return s, nil, nil
}

// assuming returns the spec, nil for a new one, with the assumed sheets that lead
// to a sheet as revisions.
func (s *history) assuming(sheet *pb.SpecSheet, assumed []*pb.SpecSheet, now time.Time) *history {
	assumed = slices.Clone(assumed)
	slices.SortFunc(assumed, func(a, b *pb.SpecSheet) int { return cmp.Compare(a.GetRevision(), b.GetRevision()) })
	for _, one := range assumed {
		number := 1
		var before *Head
		if s != nil {
			before = s.newest()
			number = before.Revision + 1
		}
		if one.GetSpecId() != sheet.GetSpecId() || one.GetRevision() >= sheet.GetRevision() || int(one.GetRevision()) != number {
			continue
		}
		digest, err := spec.Digest(one)
		if err != nil {
			continue // nobody can publish it
		}
		s = s.published(headOf(store.Change{
			Kind: store.Published, SpecID: one.GetSpecId(), Revision: number, RecordedTime: now, Digest: digest,
			Make: one.GetMake(), Model: one.GetModel(), ModelYear: int(one.GetModelYear()), Market: one.GetMarket(),
			EffectiveTime: one.GetEffectiveTime().AsTime(),
		}, store.PublishedSpec{}, one, before))
	}
	return s
}

// Withdraw marks a revision as withdrawn, and returns once this catalogue does
// not judge by it any more. Again, it returns the revision as the first time
// left it. A missing spec or revision is a *[spec.NotFoundError]; other errors
// are as those of [store.SpecStore].WithdrawSpec, or a *[BehindError].
func (c *Catalogue) Withdraw(ctx context.Context, specID string, revision int, reason string) (*Head, error) {
	change, err := c.store.WithdrawSpec(ctx, specID, revision, reason, c.cfg.Now())
	switch {
	case errors.Is(err, store.ErrNotFound):
		if _, missing := c.ByNumber(specID, revision); missing != nil {
			return nil, missing
		}
		return nil, err
	case err != nil:
		return nil, err
	}
	if err := c.reach(ctx, change.Position); err != nil {
		return nil, err
	}
	return c.ByNumber(specID, revision)
}

// check makes a sheet ready, or tells everything that is wrong with it.
func (c *Catalogue) check(sheet *pb.SpecSheet, s *history) (*spec.Revision, *gauge.Engine, error) {
	var problems []spec.Problem
	gather := func(err error) error {
		var bad *spec.SheetError
		if err == nil || !errors.As(err, &bad) {
			return err
		}
		problems = append(problems, bad.Problems...)
		return nil
	}
	r, err := spec.NewRevision(sheet)
	if err := gather(err); err != nil {
		return nil, nil, err
	}
	problems = append(problems, s.strange(sheet)...)
	problems = append(problems, c.contested(sheet)...)
	if r == nil {
		return nil, nil, &spec.SheetError{Problems: problems}
	}
	engine, err := gauge.Compile(r)
	if err := gather(err); err != nil {
		return nil, nil, err
	}
	if len(problems) > 0 {
		return nil, nil, &spec.SheetError{Problems: problems}
	}
	return r, engine, nil
}

// strange tells what keeps a sheet from being of the same spec as the revisions
// before it.
func (s *history) strange(sheet *pb.SpecSheet) (problems []spec.Problem) {
	if s == nil {
		return nil
	}
	before := s.newest()
	add := func(path string, got, want any) {
		problems = append(problems, spec.Problem{Path: path,
			Message: fmt.Sprintf("got %v, want %v as revision %d has: another machine is another spec", got, want, before.Revision)})
	}
	if sheet.GetMake() != before.Make {
		add("make", sheet.GetMake(), before.Make)
	}
	if int(sheet.GetModelYear()) != before.ModelYear {
		add("model_year", sheet.GetModelYear(), before.ModelYear)
	}
	if sheet.GetMarket() != before.Market {
		add("market", sheet.GetMarket(), before.Market)
	}
	return problems
}

// contested tells which other specs of the model cover VINs of a sheet when it
// is in force.
func (c *Catalogue) contested(sheet *pb.SpecSheet) (problems []spec.Problem) {
	h := &Head{PublishedSpec: store.PublishedSpec{Make: sheet.GetMake(), Model: sheet.GetModel()}, ModelAliases: sheet.GetModelAliases()}
	covers, from := compileCoverage(sheet.GetVin()), sheet.GetEffectiveTime().AsTime()
	var told []string
	for _, name := range modelNames(h) {
		for _, s := range c.index.called(spec.FoldModel(name)) {
			newest := s.newest()
			if s.id == sheet.GetSpecId() || slices.Contains(told, s.id) ||
				newest.ModelYear != int(sheet.GetModelYear()) || newest.Market != sheet.GetMarket() {
				continue
			}
			told = append(told, s.id)
			for _, other := range s.standing(from) {
				if other.covers == nil {
					continue
				}
				if both := covers.overlap(other.covers); both != "" {
					problems = append(problems, spec.Problem{Path: "vin", Message: fmt.Sprintf(
						"%s, in force from %s, covers VINs of this sheet, such as %s: a machine must have one sheet",
						other.Name(), instant(other.EffectiveTime), both)})
					break
				}
			}
		}
	}
	return problems
}

// standing returns the revisions that are in force at a time or will be, as far
// as is known now.
func (s *history) standing(from time.Time) (heads []*Head) {
	for _, h := range slices.Backward(s.heads) {
		if h.Withdrawn != nil {
			continue
		}
		heads = append(heads, h)
		if h.begun(from) {
			break
		}
	}
	return heads
}

// withDigest returns the revision of that content, nil when there is none.
func (s *history) withDigest(digest string) *Head {
	if s == nil {
		return nil
	}
	for _, h := range slices.Backward(s.heads) {
		if h.Digest == digest {
			return h
		}
	}
	return nil
}

// preview tells what a store that holds what is known here would make of a new
// revision, if the spec stood by then as said. The etag is that of now.
func (s *history) preview(then *history, p store.PublishedSpec, ifMatch string) (*Head, error) {
	if err := p.Check(); err != nil {
		return nil, err
	}
	if _, err := p.Describe(); err != nil {
		return nil, err
	}
	if s != nil && ifMatch != s.newest().Etag || s == nil && ifMatch != "" {
		changed := &store.SpecChangedError{SpecID: p.SpecID}
		if s != nil {
			changed.Revision, changed.Etag = s.newest().Revision, s.newest().Etag
		}
		return nil, changed
	}
	var before, inForce *Head
	number := 0
	if then != nil {
		before = then.newest()
		number = before.Revision
		for _, h := range slices.Backward(then.heads) {
			if h.Withdrawn == nil {
				inForce = h
				break
			}
		}
	}
	switch {
	case p.Revision != number+1:
		return nil, fmt.Errorf("%w: got %d, wanted %d", store.ErrRevisionNumber, p.Revision, number+1)
	case inForce != nil && p.EffectiveTime.Before(inForce.EffectiveTime):
		return nil, fmt.Errorf("%w: got %s, wanted %s or later", store.ErrEffectiveTime,
			p.EffectiveTime.Format(time.RFC3339), inForce.EffectiveTime.Format(time.RFC3339))
	}
	return headOf(store.Change{
		Kind: store.Published, SpecID: p.SpecID, Revision: p.Revision, RecordedTime: p.RecordedTime,
		Digest: p.Digest, Make: p.Make, Model: p.Model, ModelYear: p.ModelYear, Market: p.Market, EffectiveTime: p.EffectiveTime,
	}, p, p.Sheet, before), nil
}
