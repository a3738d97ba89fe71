package postgres

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/internal/row"
)

const (
	takeSpecLock = `SELECT pg_advisory_xact_lock($1)`
	insertChange = `INSERT INTO spec_changes (position, kind, spec_id, revision, recorded_time, reason)
VALUES ($1, $2, $3, $4, $5, $6)`
	insertRevision = `INSERT INTO spec_revisions (spec_id, revision, digest, make, model, model_year, market,
	change_note, source_document, characteristic_count, effective_time, sheet)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)`
	notifyChange = `SELECT pg_notify('` + channel + `', $1)`
)

var headQuery = row.HeadQuery("$1::text", "$2::bytea")

// serially does f in a transaction that holds the lock on specs, with the head
// of the spec as it then is. Lock and head go in one message but are two
// statements: only the second's snapshot is later than the lock.
func (s *Store) serially(ctx context.Context, specID string, digest []byte, f func(tx pgx.Tx, head row.Head) error) error {
	return s.write(ctx, func() error {
		return pgx.BeginTxFunc(ctx, s.pool, readCommitted, func(tx pgx.Tx) error {
			var head row.Head
			batch := new(pgx.Batch)
			batch.Queue(takeSpecLock, int64(specLock))
			batch.Queue(headQuery, toText(specID), digest).QueryRow(func(r pgx.Row) error { return r.Scan(head.Columns()...) })
			if err := tx.SendBatch(ctx, batch).Close(); err != nil {
				return fmt.Errorf("look up head: %w", err)
			}
			return f(tx, head)
		})
	})
}

// PublishSpec implements [store.SpecStore].
func (s *Store) PublishSpec(ctx context.Context, p store.PublishedSpec, ifMatch string) (stored store.PublishedSpec, created bool, err error) {
	if err := s.begin(ctx); err != nil {
		return store.PublishedSpec{}, false, err
	}
	defer s.calls.Done()
	r, p, err := row.EncodeSpec(p)
	if err != nil {
		return store.PublishedSpec{}, false, err
	}
	var same int64
	err = s.serially(ctx, r.SpecID, r.Digest, func(tx pgx.Tx, head row.Head) error {
		if same = head.Same; same != 0 {
			return nil
		}
		if err := head.Admit(&r, ifMatch); err != nil {
			return err
		}
		batch := new(pgx.Batch)
		batch.Queue(insertRevision, r.SpecID, r.Revision, r.Digest, toText(r.Make), toText(r.Model), r.ModelYear, toText(r.Market),
			toText(r.ChangeNote), toText(r.SourceDocument), r.CharacteristicCount, r.EffectiveTime, r.Sheet)
		p.Position = head.Position + 1
		recorded := queueChange(batch, head, store.Published, r.SpecID, r.Revision, r.RecordedTime, "")
		p.RecordedTime = row.Time(recorded)
		if err := tx.SendBatch(ctx, batch).Close(); err != nil {
			return fmt.Errorf("insert revision: %w", err)
		}
		return nil
	})
	switch {
	case err != nil:
		return store.PublishedSpec{}, false, err
	case same != 0:
		earlier, err := s.spec(ctx, r.SpecID, int(same))
		return earlier, false, err
	}
	return p, true, nil
}

// queueChange appends a change after the last one and tells whoever listens, once
// it is committed. It returns when the change is recorded.
func queueChange(batch *pgx.Batch, head row.Head, kind store.ChangeKind, specID string, revision, at int64, reason string) int64 {
	recorded := row.Recorded(at, head.LastRecorded)
	batch.Queue(insertChange, head.Position+1, kind.String(), specID, revision, recorded, toText(reason))
	batch.Queue(notifyChange, fmt.Sprint(head.Position+1))
	return recorded
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
	var position int64
	err := s.serially(ctx, specID, nil, func(tx pgx.Tx, head row.Head) error {
		var earlier *int64
		err := tx.QueryRow(ctx, `SELECT w.position FROM spec_revisions r
			LEFT JOIN spec_changes w ON w.spec_id = r.spec_id AND w.revision = r.revision AND w.kind = 'WITHDRAWN'
			WHERE r.spec_id = $1 AND r.revision = $2`, toText(specID), revision).Scan(&earlier)
		switch {
		case errors.Is(err, pgx.ErrNoRows):
			return fmt.Errorf("%w: %.80q", store.ErrNotFound, store.RevisionName(specID, revision))
		case err != nil:
			return fmt.Errorf("look up withdrawal: %w", err)
		case earlier != nil:
			position = *earlier
			return nil
		}
		position = head.Position + 1
		batch := new(pgx.Batch)
		queueChange(batch, head, store.Withdrawn, specID, int64(revision), at.UnixMicro(), reason)
		if err := tx.SendBatch(ctx, batch).Close(); err != nil {
			return fmt.Errorf("insert change: %w", err)
		}
		return nil
	})
	if err != nil {
		return store.Change{}, err
	}
	changes, err := s.changes(ctx, position-1, 1)
	if err != nil {
		return store.Change{}, err
	}
	return changes[0], nil
}

// WatchSpecHead implements [store.SpecStore]. It sees the changes of every
// process on the database.
func (s *Store) WatchSpecHead(ctx context.Context) (<-chan struct{}, error) {
	if err := s.begin(ctx); err != nil {
		return nil, err
	}
	defer s.calls.Done()
	s.listen.start()
	return s.hub.Subscribe(ctx), nil
}
