package row

import (
	"fmt"

	"github.com/snapgauge/snapgauge/service/store"
)

// Head is what decides whether a revision may be published: the state of its
// spec and of the feed, read in the transaction that publishes, while no other
// can change it.
type Head struct {
	Same         int64  // number of the revision with the same digest, or nought
	Revision     int64  // number of the newest revision, or nought
	Digest       []byte // of the newest revision
	Withdrawn    int64  // 1 when the newest revision is withdrawn
	InForce      *int64 // effective time of the newest revision that is not withdrawn
	Position     int64  // of the last change, or nought
	LastRecorded *int64 // of the last change
}

// headQuery has the spec id and the digest as its two parameters.
const headQuery = `SELECT coalesce(e.revision, 0), coalesce(h.revision, 0), h.digest, coalesce(h.withdrawn, 0),
	f.effective_time, coalesce(c.position, 0), c.recorded_time
FROM (SELECT 1 AS one) o
LEFT JOIN (SELECT revision FROM spec_revisions WHERE spec_id = %[1]s AND digest = %[2]s) e ON true
LEFT JOIN (SELECT r.revision, r.digest, (SELECT count(*) FROM spec_changes w
		WHERE w.spec_id = r.spec_id AND w.revision = r.revision AND w.kind = 'WITHDRAWN') AS withdrawn
	FROM spec_revisions r WHERE r.spec_id = %[1]s ORDER BY r.revision DESC LIMIT 1) h ON true
LEFT JOIN (SELECT r.effective_time FROM spec_revisions r WHERE r.spec_id = %[1]s
	AND NOT EXISTS (SELECT 1 FROM spec_changes w
		WHERE w.spec_id = r.spec_id AND w.revision = r.revision AND w.kind = 'WITHDRAWN')
	ORDER BY r.revision DESC LIMIT 1) f ON true
LEFT JOIN (SELECT position, recorded_time FROM spec_changes ORDER BY position DESC LIMIT 1) c ON true`

// HeadQuery is the query for a Head, read into [Head.Columns]. Given are the two
// parameters, the spec id and the digest, as the database writes them.
func HeadQuery(specID, digest string) string { return fmt.Sprintf(headQuery, specID, digest) }

// Columns are where to scan the row to.
func (h *Head) Columns() []any {
	return []any{&h.Same, &h.Revision, &h.Digest, &h.Withdrawn, &h.InForce, &h.Position, &h.LastRecorded}
}

// Etag is that of the newest revision, "" when there is none.
func (h Head) Etag() string {
	if h.Revision == 0 {
		return ""
	}
	return etag(h.Digest, h.Withdrawn != 0)
}

// Admit says why a revision whose content is new can not follow, in the order
// that [store.SpecStore] promises.
func (h Head) Admit(s *Spec, ifMatch string) error {
	name := store.RevisionName(s.SpecID, int(s.Revision))
	switch {
	case ifMatch != h.Etag():
		return &store.SpecChangedError{SpecID: s.SpecID, Revision: int(h.Revision), Etag: h.Etag()}
	case s.Revision != h.Revision+1:
		return fmt.Errorf("%s: %w: got %d, wanted %d", store.SpecName(s.SpecID), store.ErrRevisionNumber, s.Revision, h.Revision+1)
	case h.InForce != nil && s.EffectiveTime < *h.InForce:
		return fmt.Errorf("%s: %w: got %v, wanted %v or later", name, store.ErrEffectiveTime, Time(s.EffectiveTime), Time(*h.InForce))
	}
	return nil
}

// Recorded is the recorded time of a change that is to be made at a time: not
// before the last.
func Recorded(micros int64, last *int64) int64 {
	if last != nil {
		return max(micros, *last)
	}
	return micros
}
