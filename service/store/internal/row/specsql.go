package row

import (
	"encoding/hex"

	"github.com/snapgauge/snapgauge/service/store"
)

// Queries that every database with these tables understands. The tables have the
// same columns in all of them; the statements that take parameters are completed
// where they are used, because databases write those differently.
const (
	revisionColumns = `r.spec_id, r.revision, r.digest, r.make, r.model, r.model_year, r.market, r.change_note,
	r.source_document, r.characteristic_count, r.effective_time, p.recorded_time, p.position, w.recorded_time, w.reason`
	revisionTables = ` FROM spec_revisions r
JOIN spec_changes p ON p.spec_id = r.spec_id AND p.revision = r.revision AND p.kind = 'PUBLISHED'
LEFT JOIN spec_changes w ON w.spec_id = r.spec_id AND w.revision = r.revision AND w.kind = 'WITHDRAWN'`

	// SelectRevisions reads revisions, named r, into [Revision.Columns].
	SelectRevisions = `SELECT ` + revisionColumns + revisionTables
	// SelectSheets is SelectRevisions with the canonical form behind.
	SelectSheets = `SELECT ` + revisionColumns + `, r.sheet` + revisionTables
	// SelectChanges reads changes, named c, into [Change.Columns].
	SelectChanges = `SELECT c.position, c.kind, c.spec_id, c.revision, c.reason, c.recorded_time,
	r.digest, r.make, r.model, r.model_year, r.market, r.effective_time
FROM spec_changes c JOIN spec_revisions r ON r.spec_id = c.spec_id AND r.revision = c.revision`
	// SelectSpecHead reads the position of the last change.
	SelectSpecHead = `SELECT coalesce(max(position), 0) FROM spec_changes`
)

// Revision is what SelectRevisions reads.
type Revision struct {
	Spec
	Position  int64
	Withdrawn *int64
	Reason    *string
}

// Columns are where to scan a row to.
func (r *Revision) Columns() []any {
	return []any{
		&r.SpecID, &r.Revision, &r.Digest, &r.Make, &r.Model, &r.ModelYear, &r.Market, &r.ChangeNote,
		&r.SourceDocument, &r.CharacteristicCount, &r.EffectiveTime, &r.RecordedTime, &r.Position, &r.Withdrawn, &r.Reason,
	}
}

// Texts are the columns that a caller has written.
func (r *Revision) Texts() []*string {
	texts := []*string{&r.Make, &r.Model, &r.Market, &r.ChangeNote, &r.SourceDocument}
	if r.Reason != nil {
		texts = append(texts, r.Reason)
	}
	return texts
}

// Published makes a revision of the row, without its sheet.
func (r *Revision) Published() store.PublishedSpec {
	reason := ""
	if r.Reason != nil {
		reason = *r.Reason
	}
	return r.Spec.Published(r.Position, r.Withdrawn, reason)
}

// Change is what SelectChanges reads.
type Change struct {
	store.Change
	kind                string
	digest              []byte
	recorded, effective int64
}

// Columns are where to scan a row to.
func (c *Change) Columns() []any {
	return []any{
		&c.Position, &c.kind, &c.SpecID, &c.Revision, &c.Reason, &c.recorded,
		&c.digest, &c.Make, &c.Model, &c.ModelYear, &c.Market, &c.effective,
	}
}

// Texts are the columns that a caller has written.
func (c *Change) Texts() []*string { return []*string{&c.Reason, &c.Make, &c.Model, &c.Market} }

// Decode makes a change of what was scanned.
func (c *Change) Decode() store.Change {
	c.Kind = store.Published
	if c.kind == store.Withdrawn.String() {
		c.Kind = store.Withdrawn
	}
	c.Digest = hex.EncodeToString(c.digest)
	c.RecordedTime, c.EffectiveTime = Time(c.recorded), Time(c.effective)
	return c.Change
}
