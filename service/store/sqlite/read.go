package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strconv"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/internal/row"
	"github.com/snapgauge/snapgauge/service/store/internal/where"
)

const selectSetup = `SELECT s.id, s.request_id, s.shop, s.create_time, x.new_id, s.report, s.record
FROM setups s LEFT JOIN supersession x ON x.old_id = s.id`

// Get implements [store.Store].
func (s *Store) Get(ctx context.Context, id string) (store.Setup, error) {
	if err := s.begin(ctx); err != nil {
		return store.Setup{}, err
	}
	defer s.calls.Done()
	return s.get(ctx, id)
}

func (s *Store) get(ctx context.Context, id string) (store.Setup, error) {
	found, err := s.query(ctx, 1, false, selectSetup+` WHERE s.id = ?`, id)
	if err != nil {
		return store.Setup{}, err
	}
	if len(found) == 0 {
		return store.Setup{}, fmt.Errorf("%w: %.80q", store.ErrNotFound, id)
	}
	return found[0], nil
}

// List implements [store.Store]. One page is read in one snapshot.
func (s *Store) List(ctx context.Context, q store.Query) ([]store.Setup, store.Cursor, error) {
	if err := s.begin(ctx); err != nil {
		return nil, store.Cursor{}, err
	}
	defer s.calls.Done()
	if err := q.Check(); err != nil {
		return nil, store.Cursor{}, err
	}
	size := q.PageSize()
	text, args := listQuery(q)
	// One more than the page tells whether there is another.
	setups, err := s.query(ctx, size+1, q.Basic, text, args...)
	if err != nil {
		return nil, store.Cursor{}, err
	}
	if len(setups) <= size {
		return setups, store.Cursor{}, nil
	}
	last := setups[size-1]
	return setups[:size], store.CursorAfter(last.CreateTime, last.ID), nil
}

// dialect is how SQLite writes filters.
var dialect = where.Dialect{
	Placeholder: func(n int) string { return "?" + strconv.Itoa(n) },
	Spec:        `substr(s.spec_revision, 1, instr(s.spec_revision, '/revisions/') + 10)`,
}

// listQuery is the text and the bound values of a page and one setup more.
func listQuery(q store.Query) (text string, args []any) {
	text, args = dialect.Page(q)
	return selectSetup + text, args
}

// query reads setups, of which it expects no more than so many.
func (s *Store) query(ctx context.Context, most int, basic bool, text string, args ...any) (_ []store.Setup, err error) {
	defer func() { err = orContext(ctx, err) }()
	rows, err := s.readers.QueryContext(ctx, text, args...)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	setups := make([]store.Setup, 0, min(most, 64))
	for rows.Next() {
		var (
			setup          store.Setup
			micros         int64
			supersededBy   sql.NullString
			report, record sql.RawBytes
		)
		err := rows.Scan(&setup.ID, &setup.RequestID, &setup.Shop, &micros, &supersededBy, &report, &record)
		if err != nil {
			return nil, err
		}
		setup.CreateTime = row.Time(micros)
		setup.SupersededBy = supersededBy.String
		if setup.Report, err = row.DecodeReport(report); err != nil {
			return nil, fmt.Errorf("%s: %w", store.Name(setup.ID), err)
		}
		if setup.Record, err = row.DecodeRecord(record, basic); err != nil {
			return nil, fmt.Errorf("%s: %w", store.Name(setup.ID), err)
		}
		setups = append(setups, setup)
	}
	return setups, rows.Err()
}
