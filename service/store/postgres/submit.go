package postgres

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/internal/row"
)

// insertSetup does nothing where the shop has used the request id. It waits for a
// transaction that is about to.
const insertSetup = `INSERT INTO setups (id, request_id, shop, create_time, technician, vin, model, model_year,
	market, phase, verdict, spec_revision, finish_time, record_digest, report, record)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)
ON CONFLICT (shop, request_id) DO NOTHING`

func insertArgs(r *row.Row) []any {
	return []any{
		r.ID, toText(r.RequestID), toText(r.Shop), r.CreateTime, toText(r.Technician), toText(r.VIN), toText(r.Model), r.ModelYear,
		toText(r.Market), r.Phase, r.Verdict, toText(r.SpecRevision), r.FinishTime, r.RecordDigest[:], r.Report, r.Record,
	}
}

// errEarlier says that the shop has used the request id.
var errEarlier = errors.New("submitted before")

// Submit implements [store.Store].
func (s *Store) Submit(ctx context.Context, setup store.Setup) (stored store.Setup, created bool, err error) {
	if err := s.begin(ctx); err != nil {
		return store.Setup{}, false, err
	}
	defer s.calls.Done()
	r, setup, err := row.Encode(setup)
	if err != nil {
		return store.Setup{}, false, err
	}
	err = s.write(ctx, func() error {
		if r.Supersedes != "" {
			return s.correct(ctx, &r)
		}
		return s.insert(ctx, &r)
	})
	if err == nil {
		return setup, true, nil
	}
	// An id that is taken may be so by the same submit, an instant ago: which
	// of two broken constraints is told is the server's choice.
	if !errors.Is(err, errEarlier) && !errors.Is(err, store.ErrIDTaken) {
		return store.Setup{}, false, err
	}
	earlier, found, readErr := s.byRequest(ctx, r.Shop, r.RequestID)
	switch {
	case readErr != nil:
		return store.Setup{}, false, readErr
	case !found:
		return store.Setup{}, false, err
	case !row.SameRecord(earlier.Record, setup.Record):
		return store.Setup{}, false, fmt.Errorf("%w: %.80q, as %s",
			store.ErrRequestReused, setup.RequestID, store.Name(earlier.ID))
	}
	return earlier, false, nil
}

// insert stores a set-up that corrects none, in one statement.
func (s *Store) insert(ctx context.Context, r *row.Row) error {
	tag, err := s.pool.Exec(ctx, insertSetup, insertArgs(r)...)
	return inserted(r, tag.RowsAffected(), err)
}

// inserted says what became of insertSetup.
func inserted(r *row.Row, count int64, err error) error {
	switch {
	case codeOf(err) == codeUniqueViolation:
		return fmt.Errorf("%w: %s", store.ErrIDTaken, r.ID)
	case err != nil:
		return fmt.Errorf("insert setup: %w", err)
	case count == 0:
		return errEarlier
	}
	return nil
}

// correct stores a set-up that corrects another, in one transaction. What it
// looks up before can change until it inserts; the constraints hold then.
func (s *Store) correct(ctx context.Context, r *row.Row) error {
	return pgx.BeginTxFunc(ctx, s.pool, readCommitted, func(tx pgx.Tx) error {
		var used int
		err := tx.QueryRow(ctx, `SELECT count(*) FROM setups WHERE shop = $1 AND request_id = $2`, toText(r.Shop), toText(r.RequestID)).Scan(&used)
		if err != nil {
			return fmt.Errorf("look up request: %w", err)
		}
		if used > 0 {
			return errEarlier
		}
		var successor *string
		err = tx.QueryRow(ctx, `SELECT x.new_id FROM setups s LEFT JOIN supersession x ON x.old_id = s.id
			WHERE s.id = $1 AND s.shop = $2`, r.Supersedes, toText(r.Shop)).Scan(&successor)
		switch {
		case errors.Is(err, pgx.ErrNoRows):
			return fmt.Errorf("%w: %s", store.ErrSupersedesMissing, store.Name(r.Supersedes))
		case err != nil:
			return fmt.Errorf("look up superseded: %w", err)
		case successor != nil:
			return fmt.Errorf("%w: %s, by %s", store.ErrAlreadySuperseded, store.Name(r.Supersedes), store.Name(*successor))
		}
		tag, err := tx.Exec(ctx, insertSetup, insertArgs(r)...)
		if err := inserted(r, tag.RowsAffected(), err); err != nil {
			return err
		}
		tag, err = tx.Exec(ctx, `INSERT INTO supersession (old_id, new_id) VALUES ($1, $2) ON CONFLICT (old_id) DO NOTHING`, r.Supersedes, r.ID)
		switch {
		case err != nil:
			return fmt.Errorf("insert supersession: %w", err)
		case tag.RowsAffected() == 0:
			return fmt.Errorf("%w: %s", store.ErrAlreadySuperseded, store.Name(r.Supersedes))
		}
		return nil
	})
}

// readCommitted is what the isolation of this package rests on, see the package's
// comment.
var readCommitted = pgx.TxOptions{IsoLevel: pgx.ReadCommitted}

// byRequest returns what a shop has submitted under a request id.
func (s *Store) byRequest(ctx context.Context, shop, requestID string) (_ store.Setup, found bool, err error) {
	setups, err := s.query(ctx, 1, false, selectSetup+` WHERE s.shop = $1 AND s.request_id = $2`, toText(shop), toText(requestID))
	if err != nil || len(setups) == 0 {
		return store.Setup{}, false, err
	}
	return setups[0], true, nil
}
