package postgres

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/internal/row"
)

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
	err = s.serially(ctx, r.SpecID, nil, func(tx pgx.Tx, _ row.Head) error {
		was, updated, err := draftDigest(ctx, tx, r.SpecID)
		switch {
		case err != nil:
			return err
		case was != nil && string(was) == string(r.Digest):
			d.UpdateTime = row.Time(updated)
			return nil
		case row.DraftEtag(was) != ifMatch:
			return &store.SpecChangedError{SpecID: r.SpecID, Draft: true, Etag: row.DraftEtag(was)}
		}
		_, err = tx.Exec(ctx, `INSERT INTO spec_drafts (spec_id, update_time, digest, sheet) VALUES ($1, $2, $3, $4)
			ON CONFLICT (spec_id) DO UPDATE SET update_time = excluded.update_time, digest = excluded.digest, sheet = excluded.sheet`,
			r.SpecID, r.UpdateTime, r.Digest, r.Sheet)
		if err != nil {
			return fmt.Errorf("save draft: %w", err)
		}
		return nil
	})
	if err != nil {
		return store.Draft{}, err
	}
	return d, nil
}

// DeleteDraft implements [store.SpecStore].
func (s *Store) DeleteDraft(ctx context.Context, specID, ifMatch string) error {
	if err := s.begin(ctx); err != nil {
		return err
	}
	defer s.calls.Done()
	return s.serially(ctx, specID, nil, func(tx pgx.Tx, _ row.Head) error {
		was, _, err := draftDigest(ctx, tx, specID)
		switch {
		case err != nil:
			return err
		case was == nil:
			return noDraft(specID)
		case row.DraftEtag(was) != ifMatch:
			return &store.SpecChangedError{SpecID: specID, Draft: true, Etag: row.DraftEtag(was)}
		}
		if _, err := tx.Exec(ctx, `DELETE FROM spec_drafts WHERE spec_id = $1`, specID); err != nil {
			return fmt.Errorf("delete draft: %w", err)
		}
		return nil
	})
}

// GetDraft implements [store.SpecStore].
func (s *Store) GetDraft(ctx context.Context, specID string) (store.Draft, error) {
	if err := s.begin(ctx); err != nil {
		return store.Draft{}, err
	}
	defer s.calls.Done()
	d := row.Draft{SpecID: specID}
	err := s.read(ctx, func() error {
		return s.pool.QueryRow(ctx, `SELECT update_time, digest, sheet FROM spec_drafts WHERE spec_id = $1`, toText(specID)).
			Scan(&d.UpdateTime, &d.Digest, &d.Sheet)
	})
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return store.Draft{}, noDraft(specID)
	case err != nil:
		return store.Draft{}, err
	}
	return d.Decode()
}

// draftDigest returns the digest of a draft, nil when there is none.
func draftDigest(ctx context.Context, tx pgx.Tx, specID string) (digest []byte, updated int64, err error) {
	err = tx.QueryRow(ctx, `SELECT digest, update_time FROM spec_drafts WHERE spec_id = $1`, toText(specID)).Scan(&digest, &updated)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, 0, nil
	}
	if err != nil {
		return nil, 0, fmt.Errorf("look up draft: %w", err)
	}
	return digest, updated, nil
}

func noDraft(specID string) error {
	return fmt.Errorf("%w: draft of %.80q", store.ErrNotFound, store.SpecName(specID))
}
