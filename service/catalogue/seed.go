package catalogue

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
)

// maxSeedTries bounds how often a revision is published again after somebody
// else has changed its spec. Whoever seeds the same makes no change that stands
// in the way, so that more than one takes a publisher at work.
const maxSeedTries = 10

// Seed publishes the revisions that the store does not have, each spec's in the
// order of their numbers, and returns how many these were, once this catalogue
// answers by them. Seeding again does nothing, and several may seed one store at
// once: what one has published the others find there. A revision that was
// withdrawn stays withdrawn; what was published besides is left alone.
//
// Each revision that is to be published is compiled before, and its examples are
// judged: a *[spec.SheetError]. Whether specs cover the same VINs is not looked
// at, for it shows only when all are there. A *[SeedConflictError] names a
// revision that the store has with another content. Other errors name the
// revision and are as those of [Catalogue.Publish]. What was published before an
// error stays.
func (c *Catalogue) Seed(ctx context.Context, revisions []*spec.Revision) (published int, err error) {
	if err := c.Level(ctx); err != nil {
		return 0, err
	}
	ordered := slices.SortedFunc(slices.Values(revisions), func(a, b *spec.Revision) int {
		if a.SpecID() != b.SpecID() {
			return strings.Compare(a.SpecID(), b.SpecID())
		}
		return a.Number() - b.Number()
	})
	var position int64 // of the last one published
	var before store.PublishedSpec
	for _, r := range ordered {
		etag := ""
		if before.SpecID == r.SpecID() {
			etag = before.Etag // newer than the index knows
		} else if s := c.index.spec(r.SpecID()); s != nil {
			etag = s.newest().Etag
		}
		if h := c.index.spec(r.SpecID()).head(r.Number()); h != nil {
			if h.Digest != r.Digest() {
				return published, &SeedConflictError{Name: r.Name(), Stored: h.Digest, Seed: r.Digest()}
			}
			continue
		}
		p, created, err := c.seed(ctx, r, etag)
		if err != nil {
			return published, err
		}
		if created {
			published++
		}
		before, position = p, max(position, p.Position)
	}
	return published, c.reach(ctx, position)
}

// seed publishes one revision, whoever else does so at the same time.
func (c *Catalogue) seed(ctx context.Context, r *spec.Revision, etag string) (p store.PublishedSpec, created bool, err error) {
	engine, err := gauge.Compile(r)
	if err != nil {
		return p, false, fmt.Errorf("%s: %w", r.Name(), err)
	}
	for range maxSeedTries {
		p, created, err = c.store.PublishSpec(ctx, store.PublishedSpec{Sheet: r.Sheet(), Digest: r.Digest(), RecordedTime: c.cfg.Now()}, etag)
		var changed *store.SpecChangedError
		if err == nil {
			c.sheets.put(r.Digest(), r)
			c.engines.put(r.Digest(), engine)
			return p, created, nil
		}
		if !errors.As(err, &changed) {
			break
		}
		if changed.Revision >= r.Number() {
			// Somebody has published that number meanwhile, or the store would
			// have returned it: it is another content.
			other, err := c.store.Spec(ctx, r.SpecID(), r.Number())
			switch {
			case err != nil:
				return p, false, fmt.Errorf("%s: %w", r.Name(), err)
			case other.Digest != r.Digest():
				return p, false, &SeedConflictError{Name: r.Name(), Stored: other.Digest, Seed: r.Digest()}
			}
		}
		etag = changed.Etag
	}
	return p, false, fmt.Errorf("%s: %w", r.Name(), err)
}
