package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/internal/row"
)

// Spec implements [store.SpecStore].
func (s *Store) Spec(ctx context.Context, specID string, revision int) (store.PublishedSpec, error) {
	if err := s.begin(ctx); err != nil {
		return store.PublishedSpec{}, err
	}
	defer s.calls.Done()
	return s.spec(ctx, specID, revision)
}

func (s *Store) spec(ctx context.Context, specID string, revision int) (store.PublishedSpec, error) {
	var r row.Revision
	err := s.readers.QueryRowContext(ctx, row.SelectSheets+` WHERE r.spec_id = ? AND r.revision = ?`, specID, revision).
		Scan(append(r.Columns(), &r.Sheet)...)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return store.PublishedSpec{}, fmt.Errorf("%w: %.80q", store.ErrNotFound, store.RevisionName(specID, revision))
	case err != nil:
		return store.PublishedSpec{}, orContext(ctx, err)
	}
	return row.WithSheet(r.Published(), r.Sheet, r.Digest)
}

// SpecHistory implements [store.SpecStore]. It is read in one snapshot.
func (s *Store) SpecHistory(ctx context.Context, specID string) (_ []store.PublishedSpec, err error) {
	if err := s.begin(ctx); err != nil {
		return nil, err
	}
	defer s.calls.Done()
	defer func() { err = orContext(ctx, err) }()
	rows, err := s.readers.QueryContext(ctx, row.SelectRevisions+` WHERE r.spec_id = ? ORDER BY r.revision DESC`, specID)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	var history []store.PublishedSpec
	for rows.Next() {
		var r row.Revision
		if err := rows.Scan(r.Columns()...); err != nil {
			return nil, err
		}
		history = append(history, r.Published())
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	if len(history) == 0 {
		return nil, fmt.Errorf("%w: %.80q", store.ErrNotFound, store.SpecName(specID))
	}
	return history, nil
}

// SpecChanges implements [store.SpecStore]. It is read in one snapshot.
func (s *Store) SpecChanges(ctx context.Context, after int64, limit int) ([]store.Change, error) {
	if err := s.begin(ctx); err != nil {
		return nil, err
	}
	defer s.calls.Done()
	size, err := store.CheckChanges(after, limit)
	if err != nil {
		return nil, err
	}
	return s.changes(ctx, after, size)
}

func (s *Store) changes(ctx context.Context, after int64, size int) (_ []store.Change, err error) {
	defer func() { err = orContext(ctx, err) }()
	rows, err := s.readers.QueryContext(ctx, row.SelectChanges+` WHERE c.position > ? ORDER BY c.position LIMIT ?`, after, size)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	var changes []store.Change
	for rows.Next() {
		var c row.Change
		if err := rows.Scan(c.Columns()...); err != nil {
			return nil, err
		}
		changes = append(changes, c.Decode())
	}
	return changes, rows.Err()
}

// SpecHead implements [store.SpecStore].
func (s *Store) SpecHead(ctx context.Context) (int64, error) {
	if err := s.begin(ctx); err != nil {
		return 0, err
	}
	defer s.calls.Done()
	var position int64
	err := s.readers.QueryRowContext(ctx, row.SelectSpecHead).Scan(&position)
	return position, orContext(ctx, err)
}

// GetDraft implements [store.SpecStore].
func (s *Store) GetDraft(ctx context.Context, specID string) (store.Draft, error) {
	if err := s.begin(ctx); err != nil {
		return store.Draft{}, err
	}
	defer s.calls.Done()
	d := row.Draft{SpecID: specID}
	err := s.readers.QueryRowContext(ctx, `SELECT update_time, digest, sheet FROM spec_drafts WHERE spec_id = ?`, specID).
		Scan(&d.UpdateTime, &d.Digest, &d.Sheet)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return store.Draft{}, noDraft(specID)
	case err != nil:
		return store.Draft{}, orContext(ctx, err)
	}
	return d.Decode()
}
