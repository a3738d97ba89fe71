package sqlite

import (
	"context"
	"time"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/internal/row"
)

// PublishSpec implements [store.SpecStore]. The sheet is encoded on the caller's
// goroutine; positions are given out by the one that commits, in its
// transaction, which no other writer of the file can be beside.
func (s *Store) PublishSpec(ctx context.Context, p store.PublishedSpec, ifMatch string) (stored store.PublishedSpec, created bool, err error) {
	if err := s.begin(ctx); err != nil {
		return store.PublishedSpec{}, false, err
	}
	defer s.calls.Done()
	r, p, err := row.EncodeSpec(p)
	if err != nil {
		return store.PublishedSpec{}, false, err
	}
	res := s.writer.do(ctx, &publication{row: r, ifMatch: ifMatch})
	switch {
	case res.err != nil:
		return store.PublishedSpec{}, false, res.err
	case res.change.revision != 0:
		earlier, err := s.spec(ctx, r.SpecID, int(res.change.revision))
		return earlier, false, err
	}
	p.Position, p.RecordedTime = res.change.position, row.Time(res.change.recorded)
	return p, true, nil
}

// WithdrawSpec implements [store.SpecStore].
func (s *Store) WithdrawSpec(ctx context.Context, specID string, revision int, reason string, at time.Time) (store.Change, error) {
	if err := s.begin(ctx); err != nil {
		return store.Change{}, err
	}
	defer s.calls.Done()
	if err := store.CheckWithdrawal(reason, at); err != nil {
		return store.Change{}, err
	}
	res := s.writer.do(ctx, &withdrawal{specID: specID, revision: int64(revision), at: at.UnixMicro(), reason: reason})
	if res.err != nil {
		return store.Change{}, res.err
	}
	changes, err := s.changes(ctx, res.change.position-1, 1)
	if err != nil {
		return store.Change{}, err
	}
	return changes[0], nil
}

// SaveDraft implements [store.SpecStore].
func (s *Store) SaveDraft(ctx context.Context, d store.Draft, ifMatch string) (store.Draft, error) {
	if err := s.begin(ctx); err != nil {
		return store.Draft{}, err
	}
	defer s.calls.Done()
	r, d, err := row.EncodeDraft(d)
	if err != nil {
		return store.Draft{}, err
	}
	res := s.writer.do(ctx, &draftSaving{row: r, ifMatch: ifMatch})
	if res.err != nil {
		return store.Draft{}, res.err
	}
	if res.draft {
		d.UpdateTime = row.Time(res.updated)
	}
	return d, nil
}

// DeleteDraft implements [store.SpecStore].
func (s *Store) DeleteDraft(ctx context.Context, specID, ifMatch string) error {
	if err := s.begin(ctx); err != nil {
		return err
	}
	defer s.calls.Done()
	return s.writer.do(ctx, &draftDeletion{specID: specID, ifMatch: ifMatch}).err
}

// WatchSpecHead implements [store.SpecStore]. It tells of changes that were made
// through this Store; another one, in this process or not, is not seen.
func (s *Store) WatchSpecHead(ctx context.Context) (<-chan struct{}, error) {
	if err := s.begin(ctx); err != nil {
		return nil, err
	}
	defer s.calls.Done()
	return s.writer.hub.Subscribe(ctx), nil
}
