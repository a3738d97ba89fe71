package catalogue

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"github.com/snapgauge/snapgauge/service/store"
)

const (
	// changePage is how many changes are asked for at once.
	changePage = 256
	// headLoaders is how many sheets are read at once for their heads.
	headLoaders = 8
	// retryPause is how long the store is left alone after it failed: many
	// callers, each of whom wants to know now, must not add to its trouble.
	retryPause = 50 * time.Millisecond
)

// Run follows the store until ctx or the catalogue ends, and then returns nil. A
// store that fails or hangs is asked again and again. It returns an error where
// that is of no use: the store is closed, [store.ErrClosed], or a
// *[DivergedError]. It is to be called once.
func (c *Catalogue) Run(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	result := make(chan error, 1)
	if err := c.spawn(func() { result <- c.run(ctx) }); err != nil {
		return nil // closed already
	}
	return <-result
}

func (c *Catalogue) run(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	var listening sync.WaitGroup
	defer listening.Wait()
	defer cancel()
	defer context.AfterFunc(c.life, cancel)()
	told := make(chan struct{}, 1)
	listening.Go(func() { c.listen(ctx, told) })
	poll := time.NewTicker(c.cfg.Poll)
	defer poll.Stop()
	lost := false
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-told:
		case <-poll.C:
		}
		err := c.join(ctx)
		var diverged *DivergedError
		switch {
		case ctx.Err() != nil, errors.Is(err, ErrClosed):
			return nil
		case errors.Is(err, store.ErrClosed), errors.As(err, &diverged):
			c.cfg.Log.Error("the spec store cannot be followed any more", "error", err)
			return err
		case err != nil && !lost:
			c.cfg.Log.Warn("the spec store does not answer", "error", err)
		case err == nil && lost:
			c.cfg.Log.Info("the spec store answers again", "position", c.Position())
		}
		lost = err != nil
	}
}

// listen passes on what the store tells, until ctx ends. Where it tells nothing
// there is the poll.
func (c *Catalogue) listen(ctx context.Context, told chan<- struct{}) {
	for {
		signals, err := c.store.WatchSpecHead(ctx)
		if err == nil {
			for range signals {
				select {
				case told <- struct{}{}:
				default: // told already
				}
			}
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(c.cfg.Poll):
		}
	}
}

// flight is one asking of the store for changes, shared by all who want it.
type flight struct {
	done chan struct{}
	err  error // set before done is closed
}

// join waits until changes have been asked for and applied: by a flight that is
// under way, which may have begun before the call, or by a new one. It returns
// ctx.Err() when ctx ends first.
func (c *Catalogue) join(ctx context.Context) error {
	c.mu.Lock()
	f := c.under
	if f == nil {
		var diverged *DivergedError
		switch {
		case c.shut:
			c.mu.Unlock()
			return ErrClosed
		case errors.As(c.lately, &diverged), c.lately != nil && c.age(c.failed) < retryPause:
			defer c.mu.Unlock()
			return c.lately
		}
		f = &flight{done: make(chan struct{})}
		c.under = f
		c.work.Go(func() {
			err := c.catchUp(c.life)
			if c.life.Err() != nil {
				err = ErrClosed
			}
			c.mu.Lock()
			f.err, c.lately, c.failed, c.under = err, err, c.cfg.Now(), nil
			c.mu.Unlock()
			close(f.done)
		})
	}
	c.mu.Unlock()
	select {
	case <-f.done:
		return f.err
	case <-ctx.Done():
		return ctx.Err()
	}
}

// joinUntil joins flights until enough says so. The second is one that began
// after the call, so there is no third. An error is that of ctx where that has
// ended, else a reason why the catalogue could not catch up.
func (c *Catalogue) joinUntil(ctx context.Context, enough func() bool) error {
	var err error
	for range 2 {
		err = c.join(ctx)
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case enough():
			return nil
		case errors.Is(err, ErrClosed):
			return err
		}
	}
	if err == nil {
		err = errSlow
	}
	return err
}

// errSlow says that what the store answered was too old when it came.
var errSlow = errors.New("the store answers too slowly")

// Level makes sure that the catalogue has every change that was made before the
// call. It waits as long as the store goes on answering. Its error is that of
// ctx, [ErrClosed] or a *[StaleError] without a bound.
func (c *Catalogue) Level(ctx context.Context) error {
	called := c.cfg.Now()
	err := c.joinUntil(ctx, func() bool { return !c.index.lastConfirmed().Before(called) })
	return c.orStale(ctx, err, 0)
}

// reach makes sure that a change that was made is applied, and waits as Level
// does. Its error is that of ctx or a *[BehindError]: the change was made all the
// same.
func (c *Catalogue) reach(ctx context.Context, position int64) error {
	there := func() bool { at, _ := c.index.tip(); return at >= position }
	if there() {
		return nil
	}
	err := c.joinUntil(ctx, there)
	if err == nil || ctx.Err() != nil {
		return err
	}
	return &BehindError{Position: position, Err: err}
}

// soon makes sure that the catalogue was confirmed no longer ago than MaxStale,
// and takes no longer over it than ConfirmTimeout. Its error is that of ctx,
// [ErrClosed] or a *[StaleError].
func (c *Catalogue) soon(ctx context.Context) error {
	wait, cancel := context.WithTimeout(ctx, c.cfg.ConfirmTimeout)
	defer cancel()
	err := c.joinUntil(wait, func() bool { return c.age(c.index.lastConfirmed()) <= c.cfg.MaxStale })
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case err != nil && wait.Err() != nil:
		err = fmt.Errorf("the store did not answer in %v", c.cfg.ConfirmTimeout)
	}
	return c.orStale(ctx, err, c.cfg.MaxStale)
}

// orStale makes a *[StaleError] of why the catalogue could not catch up.
func (c *Catalogue) orStale(ctx context.Context, err error, bound time.Duration) error {
	if err == nil || ctx.Err() != nil || errors.Is(err, ErrClosed) {
		return err
	}
	return &StaleError{Age: c.age(c.index.lastConfirmed()), Max: bound, Err: err}
}

// fresh calls pick, which chooses an answer from the index, until what it chose
// is vouched for: after pick returned, the index was confirmed no longer ago
// than MaxStale. Its error is pick's, that of ctx, [ErrClosed] or a
// *[StaleError].
func fresh[T any](ctx context.Context, c *Catalogue, pick func() (T, error)) (T, error) {
	var none T
	for range 3 {
		// Read before the choice: what is chosen is as new as that or newer.
		confirmed := c.index.lastConfirmed()
		answer, err := pick()
		if c.age(confirmed) <= c.cfg.MaxStale {
			return answer, err
		}
		if err := c.soon(ctx); err != nil {
			return none, err
		}
	}
	return none, c.orStale(ctx, errSlow, c.cfg.MaxStale)
}

// catchUp applies changes until the store has no more. It is called by one
// goroutine at a time. What it has applied stays applied when it fails.
func (c *Catalogue) catchUp(ctx context.Context) error {
	for {
		asked := c.cfg.Now()
		changes, err := c.changes(ctx)
		switch {
		case err != nil:
			return err
		case len(changes) == 0:
			c.index.confirm(asked)
			return nil
		}
		if err := c.take(ctx, changes); err != nil {
			return err
		}
	}
}

// changes asks for the next ones. It asks for the last one that was applied too:
// that a store has no more tells nothing unless it still has that one.
func (c *Catalogue) changes(ctx context.Context) ([]store.Change, error) {
	position, last := c.index.tip()
	after, limit := position, changePage
	if position > 0 {
		after, limit = position-1, changePage+1
	}
	ctx, cancel := context.WithTimeout(ctx, c.cfg.CallTimeout)
	defer cancel()
	changes, err := c.store.SpecChanges(ctx, after, limit)
	if err != nil || position == 0 {
		return changes, err
	}
	if len(changes) == 0 {
		return nil, &DivergedError{Position: position, Message: "the store does not have it any more"}
	}
	if !sameChange(changes[0], last) {
		return nil, &DivergedError{Position: position, Message: fmt.Sprintf(
			"got %s %s, applied was %s %s", changes[0].Name(), changes[0].Kind, last.Name(), last.Kind)}
	}
	return changes[1:], nil
}

func sameChange(a, b store.Change) bool {
	return a.Position == b.Position && a.Kind == b.Kind && a.SpecID == b.SpecID && a.Revision == b.Revision &&
		a.Digest == b.Digest && a.RecordedTime.Equal(b.RecordedTime)
}

// take applies changes that follow one another, as far as their heads can be
// read.
func (c *Catalogue) take(ctx context.Context, changes []store.Change) error {
	stored, failures := c.readHeads(ctx, changes)
	applied := 0
	var err error
	for i, change := range changes {
		if why := c.index.check(change); why != "" {
			err = &DivergedError{Position: change.Position, Message: why}
			break
		}
		var head *Head
		if change.Kind == store.Published {
			p := stored[i]
			switch failure := failures[i]; {
			case errors.Is(failure, store.ErrCorrupt):
				c.cfg.Log.Error("a stored spec revision cannot be read", "error", failure)
				p = store.PublishedSpec{}
			case failure != nil:
				err = failure
			}
			before := c.index.specs[change.SpecID].head(change.Revision - 1)
			head = headOf(change, p, p.Sheet, before)
		}
		if err != nil {
			break
		}
		c.index.apply(change, head)
		applied++
	}
	if applied > 0 {
		c.index.wake()
	}
	return err
}

// readHeads reads the revisions that the changes published.
func (c *Catalogue) readHeads(ctx context.Context, changes []store.Change) ([]store.PublishedSpec, []error) {
	stored, failures := make([]store.PublishedSpec, len(changes)), make([]error, len(changes))
	var wait sync.WaitGroup
	slots := make(chan struct{}, headLoaders)
	for i, change := range changes {
		if change.Kind != store.Published {
			continue
		}
		slots <- struct{}{}
		wait.Go(func() {
			defer func() { <-slots }()
			ctx, cancel := context.WithTimeout(ctx, c.cfg.CallTimeout)
			defer cancel()
			p, err := c.store.Spec(ctx, change.SpecID, change.Revision)
			if err == nil && p.Digest != change.Digest {
				err = fmt.Errorf("%w: %s: got digest %s, its change says %s", store.ErrCorrupt, change.Name(), p.Digest, change.Digest)
			}
			if err != nil {
				failures[i] = fmt.Errorf("%s: %w", change.Name(), err)
				return
			}
			// Only the head is kept: the rest is freed with the page.
			p.Sheet = headFields(p.Sheet)
			stored[i] = p
		})
	}
	wait.Wait()
	return stored, failures
}
