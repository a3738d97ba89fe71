package storetest

import (
	"context"
	"fmt"
	"slices"
	"time"

	"google.golang.org/protobuf/proto"

	"github.com/snapgauge/snapgauge/service/store"
)

var _ store.DB = (*Model)(nil)

// PublishSpec implements [store.SpecStore].
func (m *Model) PublishSpec(ctx context.Context, p store.PublishedSpec, ifMatch string) (store.PublishedSpec, bool, error) {
	unlock, err := m.lock(ctx)
	if err != nil {
		return store.PublishedSpec{}, false, err
	}
	defer unlock()
	if err := p.Check(); err != nil {
		return store.PublishedSpec{}, false, err
	}
	p.Sheet = proto.CloneOf(p.Sheet)
	if _, err := p.Describe(); err != nil {
		return store.PublishedSpec{}, false, err
	}
	// Oldest first, so that the last one that fits is what is asked for.
	var head, inForce *store.PublishedSpec
	for i := range m.data.specs {
		earlier := &m.data.specs[i]
		if earlier.SpecID != p.SpecID {
			continue
		}
		if earlier.Digest == p.Digest {
			return copyOfSpec(*earlier), false, nil
		}
		head = earlier
		if earlier.Withdrawn == nil {
			inForce = earlier
		}
	}
	number, etag := 0, ""
	if head != nil {
		number, etag = head.Revision, head.Etag
	}
	switch {
	case ifMatch != etag:
		return store.PublishedSpec{}, false, &store.SpecChangedError{SpecID: p.SpecID, Revision: number, Etag: etag}
	case p.Revision != number+1:
		return store.PublishedSpec{}, false, store.ErrRevisionNumber
	case inForce != nil && p.EffectiveTime.Before(inForce.EffectiveTime):
		return store.PublishedSpec{}, false, store.ErrEffectiveTime
	}
	change := m.change(p, store.Published, "", p.RecordedTime)
	p.Position, p.RecordedTime = change.Position, change.RecordedTime
	m.data.specs = append(m.data.specs, p)
	return copyOfSpec(p), true, nil
}

// change appends a change.
func (m *Model) change(p store.PublishedSpec, kind store.ChangeKind, reason string, at time.Time) store.Change {
	c := store.Change{
		Position: int64(len(m.data.changes)) + 1, Kind: kind, SpecID: p.SpecID, Revision: p.Revision, Reason: reason,
		RecordedTime: time.UnixMicro(at.UnixMicro()).UTC(),
		Digest:       p.Digest, Make: p.Make, Model: p.Model, ModelYear: p.ModelYear, Market: p.Market, EffectiveTime: p.EffectiveTime,
	}
	if n := len(m.data.changes); n > 0 && c.RecordedTime.Before(m.data.changes[n-1].RecordedTime) {
		c.RecordedTime = m.data.changes[n-1].RecordedTime
	}
	m.data.changes = append(m.data.changes, c)
	m.data.hub.Wake()
	return c
}

func (m *Model) find(specID string, revision int) (*store.PublishedSpec, error) {
	for i := range m.data.specs {
		if p := &m.data.specs[i]; p.SpecID == specID && p.Revision == revision {
			return p, nil
		}
	}
	return nil, fmt.Errorf("%w: %s", store.ErrNotFound, store.RevisionName(specID, revision))
}

// WithdrawSpec implements [store.SpecStore].
func (m *Model) WithdrawSpec(ctx context.Context, specID string, revision int, reason string, at time.Time) (store.Change, error) {
	unlock, err := m.lock(ctx)
	if err != nil {
		return store.Change{}, err
	}
	defer unlock()
	if err := store.CheckWithdrawal(reason, at); err != nil {
		return store.Change{}, err
	}
	p, err := m.find(specID, revision)
	if err != nil {
		return store.Change{}, err
	}
	if p.Withdrawn != nil {
		i := slices.IndexFunc(m.data.changes, func(c store.Change) bool {
			return c.Kind == store.Withdrawn && c.SpecID == specID && c.Revision == revision
		})
		return m.data.changes[i], nil
	}
	change := m.change(*p, store.Withdrawn, reason, at)
	p.Withdrawn, p.WithdrawReason = &change.RecordedTime, reason
	p.Etag = store.SpecEtag(p.Digest, true)
	return change, nil
}

// Spec implements [store.SpecStore].
func (m *Model) Spec(ctx context.Context, specID string, revision int) (store.PublishedSpec, error) {
	unlock, err := m.lock(ctx)
	if err != nil {
		return store.PublishedSpec{}, err
	}
	defer unlock()
	p, err := m.find(specID, revision)
	if err != nil {
		return store.PublishedSpec{}, err
	}
	return copyOfSpec(*p), nil
}

// SpecHistory implements [store.SpecStore].
func (m *Model) SpecHistory(ctx context.Context, specID string) ([]store.PublishedSpec, error) {
	unlock, err := m.lock(ctx)
	if err != nil {
		return nil, err
	}
	defer unlock()
	var history []store.PublishedSpec
	for _, p := range slices.Backward(m.data.specs) {
		if p.SpecID == specID {
			p.Sheet = nil
			history = append(history, p)
		}
	}
	if len(history) == 0 {
		return nil, fmt.Errorf("%w: %s", store.ErrNotFound, store.SpecName(specID))
	}
	return history, nil
}

// SpecChanges implements [store.SpecStore].
func (m *Model) SpecChanges(ctx context.Context, after int64, limit int) ([]store.Change, error) {
	unlock, err := m.lock(ctx)
	if err != nil {
		return nil, err
	}
	defer unlock()
	size, err := store.CheckChanges(after, limit)
	if err != nil {
		return nil, err
	}
	changes := m.data.changes[min(after, int64(len(m.data.changes))):]
	return slices.Clone(changes[:min(size, len(changes))]), nil
}

// SpecHead implements [store.SpecStore].
func (m *Model) SpecHead(ctx context.Context) (int64, error) {
	unlock, err := m.lock(ctx)
	if err != nil {
		return 0, err
	}
	defer unlock()
	return int64(len(m.data.changes)), nil
}

// WatchSpecHead implements [store.SpecStore].
func (m *Model) WatchSpecHead(ctx context.Context) (<-chan struct{}, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.closed {
		return nil, store.ErrClosed
	}
	ctx, cancel := context.WithCancel(ctx)
	m.watches = append(m.watches, cancel)
	return m.data.hub.Subscribe(ctx), nil
}

// SaveDraft implements [store.SpecStore].
func (m *Model) SaveDraft(ctx context.Context, d store.Draft, ifMatch string) (store.Draft, error) {
	unlock, err := m.lock(ctx)
	if err != nil {
		return store.Draft{}, err
	}
	defer unlock()
	if err := d.Check(); err != nil {
		return store.Draft{}, err
	}
	d.Sheet = proto.CloneOf(d.Sheet)
	if _, _, err := d.Describe(); err != nil {
		return store.Draft{}, err
	}
	switch was := m.data.drafts[d.SpecID]; {
	case was.Etag == d.Etag:
		d = was
	case was.Etag != ifMatch:
		return store.Draft{}, &store.SpecChangedError{SpecID: d.SpecID, Draft: true, Etag: was.Etag}
	}
	m.data.drafts[d.SpecID] = d
	d.Sheet = proto.CloneOf(d.Sheet)
	return d, nil
}

// GetDraft implements [store.SpecStore].
func (m *Model) GetDraft(ctx context.Context, specID string) (store.Draft, error) {
	unlock, err := m.lock(ctx)
	if err != nil {
		return store.Draft{}, err
	}
	defer unlock()
	d, ok := m.data.drafts[specID]
	if !ok {
		return store.Draft{}, fmt.Errorf("%w: draft of %s", store.ErrNotFound, store.SpecName(specID))
	}
	d.Sheet = proto.CloneOf(d.Sheet)
	return d, nil
}

// DeleteDraft implements [store.SpecStore].
func (m *Model) DeleteDraft(ctx context.Context, specID, ifMatch string) error {
	unlock, err := m.lock(ctx)
	if err != nil {
		return err
	}
	defer unlock()
	d, ok := m.data.drafts[specID]
	switch {
	case !ok:
		return fmt.Errorf("%w: draft of %s", store.ErrNotFound, store.SpecName(specID))
	case d.Etag != ifMatch:
		return &store.SpecChangedError{SpecID: specID, Draft: true, Etag: d.Etag}
	}
	delete(m.data.drafts, specID)
	return nil
}

func copyOfSpec(p store.PublishedSpec) store.PublishedSpec {
	p.Sheet = proto.CloneOf(p.Sheet)
	return p
}
