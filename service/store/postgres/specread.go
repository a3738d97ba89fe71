package postgres

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

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
	err := s.read(ctx, func() error {
		return s.pool.QueryRow(ctx, row.SelectSheets+` WHERE r.spec_id = $1 AND r.revision = $2`, toText(specID), revision).
			Scan(append(r.Columns(), &r.Sheet)...)
	})
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return store.PublishedSpec{}, fmt.Errorf("%w: %.80q", store.ErrNotFound, store.RevisionName(specID, revision))
	case err != nil:
		return store.PublishedSpec{}, err
	}
	restore(r.Texts()...)
	return row.WithSheet(r.Published(), r.Sheet, r.Digest)
}

// SpecHistory implements [store.SpecStore]. It is read in one snapshot.
func (s *Store) SpecHistory(ctx context.Context, specID string) (history []store.PublishedSpec, err error) {
	if err := s.begin(ctx); err != nil {
		return nil, err
	}
	defer s.calls.Done()
	err = s.read(ctx, func() error {
		history = nil
		rows, err := s.pool.Query(ctx, row.SelectRevisions+` WHERE r.spec_id = $1 ORDER BY r.revision DESC`, toText(specID))
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var r row.Revision
			if err := rows.Scan(r.Columns()...); err != nil {
				return err
			}
			restore(r.Texts()...)
			history = append(history, r.Published())
		}
		return rows.Err()
	})
	switch {
	case err != nil:
		return nil, err
	case len(history) == 0:
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

func (s *Store) changes(ctx context.Context, after int64, size int) (changes []store.Change, err error) {
	err = s.read(ctx, func() error {
		changes = nil
		rows, err := s.pool.Query(ctx, row.SelectChanges+` WHERE c.position > $1 ORDER BY c.position LIMIT $2`, after, size)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var c row.Change
			if err := rows.Scan(c.Columns()...); err != nil {
				return err
			}
			restore(c.Texts()...)
			changes = append(changes, c.Decode())
		}
		return rows.Err()
	})
	if err != nil {
		return nil, err
	}
	return changes, nil
}

// SpecHead implements [store.SpecStore].
func (s *Store) SpecHead(ctx context.Context) (position int64, err error) {
	if err := s.begin(ctx); err != nil {
		return 0, err
	}
	defer s.calls.Done()
	err = s.read(ctx, func() error { return s.pool.QueryRow(ctx, row.SelectSpecHead).Scan(&position) })
	return position, err
}
