package catalogue

import (
	"context"
	"errors"
	"fmt"

	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
)

// Judge returns the engine to judge by: that of the revision that
// [Catalogue.InForce] chooses. Where the engine had to be made, which takes
// time, the choice is made again: it is never older than the bound when Judge
// returns. Its errors are those of InForce and of [Catalogue.Engine].
func (c *Catalogue) Judge(ctx context.Context, q Query) (Choice, *gauge.Engine, error) {
	var made *gauge.Engine
	for {
		choice, err := c.InForce(ctx, q)
		if err != nil {
			return Choice{}, nil, err
		}
		if made != nil && made.Revision().Digest() == choice.Digest {
			return choice, made, nil
		}
		engine, there, err := c.engine(ctx, c.index.spec(choice.SpecID).head(choice.Revision))
		if err != nil {
			return Choice{}, nil, err
		}
		if there {
			return choice, engine, nil
		}
		made = engine
	}
}

// Engine returns the engine of a revision, whether it is withdrawn or not. It is
// made where it is not kept, once for all who wait, and no longer than
// [Config].LoadTimeout.
//
// A *[spec.NotFoundError] says that there is no such revision, an *[UnfitError]
// that its sheet cannot be used, a *[LoadError] that it cannot be read now. Other
// errors are ctx's and [ErrClosed].
func (c *Catalogue) Engine(ctx context.Context, specID string, revision int) (*gauge.Engine, error) {
	h, err := c.ByNumber(specID, revision)
	if err != nil {
		return nil, err
	}
	engine, _, err := c.engine(ctx, h)
	return engine, err
}

// Revision returns a revision with its sheet. It is as [Catalogue.Engine].
func (c *Catalogue) Revision(ctx context.Context, specID string, revision int) (*spec.Revision, error) {
	h, err := c.ByNumber(specID, revision)
	if err != nil {
		return nil, err
	}
	r, _, err := c.sheet(ctx, h)
	return r, err
}

// engine returns the engine of a head, and whether it was there.
func (c *Catalogue) engine(ctx context.Context, h *Head) (engine *gauge.Engine, there bool, err error) {
	return c.engines.get(ctx, h.Digest, c.spawn, unfit, func() (*gauge.Engine, error) {
		// So many are made at once as can be, so that what they need
		// meanwhile is bounded too.
		select {
		case c.slots <- struct{}{}:
		case <-c.life.Done():
			return nil, ErrClosed
		}
		defer func() { <-c.slots }()
		r, _, err := c.sheet(c.life, h)
		if err != nil {
			return nil, c.orClosed(err)
		}
		engine, err := gauge.Recompile(r)
		if err != nil {
			return nil, &UnfitError{Name: h.Name(), Err: err}
		}
		return engine, nil
	})
}

// sheet returns the revision of a head, and whether it was there.
func (c *Catalogue) sheet(ctx context.Context, h *Head) (r *spec.Revision, there bool, err error) {
	return c.sheets.get(ctx, h.Digest, c.spawn, unfit, func() (*spec.Revision, error) {
		ctx, cancel := context.WithTimeoutCause(c.life, c.cfg.LoadTimeout,
			fmt.Errorf("the store did not answer in %v", c.cfg.LoadTimeout))
		defer cancel()
		p, err := c.store.Spec(ctx, h.SpecID, h.Revision)
		switch {
		case ctx.Err() != nil:
			return nil, c.orClosed(&LoadError{Name: h.Name(), Err: context.Cause(ctx)})
		case errors.Is(err, store.ErrNotFound):
			// It was there: that is no answer to what a caller asked for.
			return nil, &UnfitError{Name: h.Name(), Err: errors.New("the store does not have it any more")}
		case errors.Is(err, store.ErrCorrupt):
			return nil, &UnfitError{Name: h.Name(), Err: err}
		case err != nil:
			return nil, &LoadError{Name: h.Name(), Err: err}
		case p.Digest != h.Digest:
			return nil, &UnfitError{Name: h.Name(), Err: fmt.Errorf("%w: got digest %s, wanted %s", store.ErrCorrupt, p.Digest, h.Digest)}
		}
		r, err := spec.Published(p.Sheet)
		if err != nil {
			return nil, &UnfitError{Name: h.Name(), Err: err}
		}
		return r, nil
	})
}

// unfit reports whether a revision will always be unfit for this release. A
// database may be mended, a sheet not.
func unfit(err error) bool {
	var bad *spec.SheetError
	return errors.As(err, &bad)
}

// orClosed is err unless the catalogue has been closed.
func (c *Catalogue) orClosed(err error) error {
	if c.life.Err() != nil {
		return ErrClosed
	}
	return err
}

// ByNumber returns a revision, withdrawn or not, or a *[spec.NotFoundError].
func (c *Catalogue) ByNumber(specID string, revision int) (*Head, error) {
	s := c.index.spec(specID)
	if s == nil {
		return nil, noSpec(specID, c.index.ids())
	}
	h := s.head(revision)
	if h == nil {
		return nil, noRevision(s, revision)
	}
	return h, nil
}

func noRevision(s *history, revision int) error {
	return &spec.NotFoundError{
		What:        fmt.Sprintf("revision %d of spec %q", revision, s.id),
		Suggestions: []string{s.newest().Name()},
	}
}
