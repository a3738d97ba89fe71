package sqlite

import (
	"context"
	"fmt"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/internal/row"
)

// Submit implements [store.Store]. It encodes the setup on the caller's
// goroutine and leaves only the writing to the one that commits.
func (s *Store) Submit(ctx context.Context, setup store.Setup) (stored store.Setup, created bool, err error) {
	if err := s.begin(ctx); err != nil {
		return store.Setup{}, false, err
	}
	defer s.calls.Done()
	r, setup, err := row.Encode(setup)
	if err != nil {
		return store.Setup{}, false, err
	}
	res := s.writer.do(ctx, &submission{row: r})
	switch {
	case res.err != nil:
		return store.Setup{}, false, res.err
	case res.earlier == "":
		return setup, true, nil
	}
	earlier, err := s.get(ctx, res.earlier)
	if err != nil {
		return store.Setup{}, false, err
	}
	if !res.same && !row.SameRecord(earlier.Record, setup.Record) {
		return store.Setup{}, false, fmt.Errorf("%w: %.80q, as %s",
			store.ErrRequestReused, setup.RequestID, store.Name(earlier.ID))
	}
	return earlier, false, nil
}

// Stats counts what a store has written since it was opened.
type Stats struct {
	Rows   int64 // set-ups stored
	Groups int64 // commits that it took
}

// Stats may be asked for at any time, even after Close.
func (s *Store) Stats() Stats {
	return Stats{Rows: s.writer.rows.Load(), Groups: s.writer.groups.Load()}
}
