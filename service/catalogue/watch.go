package catalogue

import (
	"context"
	"fmt"
	"iter"

	"github.com/snapgauge/snapgauge/service/store"
)

// watchPage is how many changes one who watches holds at most.
const watchPage = 256

// Watch returns the changes after a position, in their order, each once and none
// left out, and goes on with new ones as they are applied here: whoever has been
// told of one is answered by it. The position of the last change received is
// where to go on after a break; nought is the beginning of all.
//
// Nothing waits for one who is slow: it holds a page of changes at most, and
// then reads on from where it is, from the store where this catalogue no longer
// holds them.
//
// It ends with an error, beside the zero Change: ctx's, [ErrClosed], a
// *[PositionError] for a position that the store has not reached,
// [store.ErrInvalidQuery] for one below nought, or one of the store's. It can be
// ranged over more than once, beginning anew.
func (c *Catalogue) Watch(ctx context.Context, after int64) iter.Seq2[store.Change, error] {
	return func(yield func(store.Change, error) bool) {
		if err := c.watch(ctx, after, func(change store.Change) bool { return yield(change, nil) }); err != nil {
			yield(store.Change{}, err)
		}
	}
}

// watch calls tell with each change until that returns false.
func (c *Catalogue) watch(ctx context.Context, after int64, tell func(store.Change) bool) error {
	if after < 0 {
		return fmt.Errorf("%w: position: got %d, wanted 0 or more", store.ErrInvalidQuery, after)
	}
	if after > c.Position() {
		// Another replica may have been there first.
		if err := c.Level(ctx); err != nil {
			return err
		}
		if head := c.Position(); after > head {
			return &PositionError{Position: after, Head: head}
		}
	}
	for {
		page, moved, err := c.page(ctx, after)
		if err != nil {
			return err
		}
		for _, change := range page {
			switch {
			case ctx.Err() != nil:
				return ctx.Err()
			case c.life.Err() != nil:
				return ErrClosed
			case !tell(change):
				return nil
			}
			after = change.Position
		}
		if len(page) > 0 {
			continue
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-c.life.Done():
			return ErrClosed
		case <-moved:
		}
	}
}

// page returns the next changes after a position, or none and what is closed
// when there are some.
func (c *Catalogue) page(ctx context.Context, after int64) ([]store.Change, <-chan struct{}, error) {
	page, held, moved := c.index.after(after, watchPage)
	if held {
		return page, moved, nil
	}
	bounded, cancel := context.WithTimeoutCause(ctx, c.cfg.CallTimeout, fmt.Errorf("the store did not answer in %v", c.cfg.CallTimeout))
	defer cancel()
	defer context.AfterFunc(c.life, cancel)()
	page, err := c.store.SpecChanges(bounded, after, watchPage)
	switch {
	case ctx.Err() != nil:
		return nil, nil, ctx.Err()
	case c.life.Err() != nil:
		return nil, nil, ErrClosed
	case bounded.Err() != nil:
		return nil, nil, fmt.Errorf("changes after %d: %v", after, context.Cause(bounded))
	case err != nil:
		return nil, nil, fmt.Errorf("changes after %d: %w", after, err)
	}
	// The store may be ahead of what is applied here; that comes later.
	for i, change := range page {
		if change.Position != after+int64(i)+1 {
			return nil, nil, &DivergedError{Position: change.Position, Message: "the change before it is missing"}
		}
	}
	if ahead := after + int64(len(page)) - c.Position(); ahead > 0 {
		page = page[:max(0, int64(len(page))-ahead)]
	}
	if len(page) == 0 {
		return nil, nil, &DivergedError{Position: after + 1, Message: "the store does not have it any more"}
	}
	return page, moved, nil
}
