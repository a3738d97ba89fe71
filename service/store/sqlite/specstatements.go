package sqlite

import (
	"database/sql"
	"errors"
	"fmt"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/internal/row"
)

// specStatements are what the writer says about specs.
type specStatements struct {
	head, insertRevision, insertChange *sql.Stmt
	withdrawal                         *sql.Stmt
	draft, saveDraft, deleteDraft      *sql.Stmt
}

func (s *specStatements) texts() []statementText {
	return []statementText{
		{&s.head, row.HeadQuery("?1", "?2")},
		{&s.insertRevision, `INSERT INTO spec_revisions (spec_id, revision, digest, make, model, model_year, market,
			change_note, source_document, characteristic_count, effective_time, sheet)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`},
		{&s.insertChange, `INSERT INTO spec_changes (position, kind, spec_id, revision, recorded_time, reason)
			VALUES (?, ?, ?, ?, ?, ?)`},
		{&s.withdrawal, `SELECT w.position FROM spec_revisions r
			LEFT JOIN spec_changes w ON w.spec_id = r.spec_id AND w.revision = r.revision AND w.kind = 'WITHDRAWN'
			WHERE r.spec_id = ? AND r.revision = ?`},
		{&s.draft, `SELECT digest, update_time FROM spec_drafts WHERE spec_id = ?`},
		{&s.saveDraft, `INSERT INTO spec_drafts (spec_id, update_time, digest, sheet) VALUES (?, ?, ?, ?)
			ON CONFLICT (spec_id) DO UPDATE SET update_time = excluded.update_time, digest = excluded.digest, sheet = excluded.sheet`},
		{&s.deleteDraft, `DELETE FROM spec_drafts WHERE spec_id = ?`},
	}
}

// readHead reads what a change must follow.
func (s *specStatements) readHead(specID string, digest []byte) (row.Head, error) {
	var head row.Head
	if err := s.head.QueryRow(specID, digest).Scan(head.Columns()...); err != nil {
		return row.Head{}, fmt.Errorf("look up head: %w", err)
	}
	return head, nil
}

// change appends a change after the last one.
func (s *specStatements) change(head row.Head, kind store.ChangeKind, specID string, revision, at int64, reason string) (changeResult, error) {
	made := changeResult{position: head.Position + 1, recorded: row.Recorded(at, head.LastRecorded)}
	err := execute(s.insertChange, made.position, kind.String(), specID, revision, made.recorded, reason)
	if err != nil {
		return changeResult{}, fmt.Errorf("insert change: %w", err)
	}
	return made, nil
}

// publication is the operation that publishes a revision.
type publication struct {
	row     row.Spec
	ifMatch string
}

func (o *publication) size() int { return len(o.row.Sheet) }

func (o *publication) do(s *statements) (result, written, error) {
	r := &o.row
	head, err := s.specs.readHead(r.SpecID, r.Digest)
	if err != nil {
		return result{}, nothing, err
	}
	if head.Same != 0 {
		return result{change: changeResult{revision: head.Same}}, nothing, nil
	}
	if err := head.Admit(r, o.ifMatch); err != nil {
		return result{err: err}, nothing, nil
	}
	err = execute(s.specs.insertRevision, r.SpecID, r.Revision, r.Digest, r.Make, r.Model, r.ModelYear, r.Market,
		r.ChangeNote, r.SourceDocument, r.CharacteristicCount, r.EffectiveTime, r.Sheet)
	if err != nil {
		return result{}, nothing, fmt.Errorf("insert revision: %w", err)
	}
	made, err := s.specs.change(head, store.Published, r.SpecID, r.Revision, r.RecordedTime, "")
	if err != nil {
		return result{}, nothing, err
	}
	return result{change: made}, aChange, nil
}

// withdrawal is the operation that withdraws a revision.
type withdrawal struct {
	specID   string
	revision int64
	at       int64
	reason   string
}

func (o *withdrawal) size() int { return len(o.reason) }

func (o *withdrawal) do(s *statements) (result, written, error) {
	var earlier sql.NullInt64
	err := s.specs.withdrawal.QueryRow(o.specID, o.revision).Scan(&earlier)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return result{err: fmt.Errorf("%w: %.80q", store.ErrNotFound, store.RevisionName(o.specID, int(o.revision)))}, nothing, nil
	case err != nil:
		return result{}, nothing, fmt.Errorf("look up withdrawal: %w", err)
	case earlier.Valid:
		return result{change: changeResult{position: earlier.Int64}}, nothing, nil
	}
	head, err := s.specs.readHead(o.specID, nil)
	if err != nil {
		return result{}, nothing, err
	}
	made, err := s.specs.change(head, store.Withdrawn, o.specID, o.revision, o.at, o.reason)
	if err != nil {
		return result{}, nothing, err
	}
	return result{change: made}, aChange, nil
}

// draftSaving is the operation that saves a draft.
type draftSaving struct {
	row     row.Draft
	ifMatch string
}

func (o *draftSaving) size() int { return len(o.row.Sheet) }

func (o *draftSaving) do(s *statements) (result, written, error) {
	digest, updated, err := s.specs.readDraft(o.row.SpecID)
	switch {
	case err != nil:
		return result{}, nothing, err
	case digest != nil && string(digest) == string(o.row.Digest):
		return result{draft: true, updated: updated}, nothing, nil
	case row.DraftEtag(digest) != o.ifMatch:
		return result{err: draftChanged(o.row.SpecID, digest)}, nothing, nil
	}
	if err := execute(s.specs.saveDraft, o.row.SpecID, o.row.UpdateTime, o.row.Digest, o.row.Sheet); err != nil {
		return result{}, nothing, fmt.Errorf("save draft: %w", err)
	}
	return result{}, aDraft, nil
}

// draftDeletion is the operation that deletes a draft.
type draftDeletion struct{ specID, ifMatch string }

func (o *draftDeletion) size() int { return 0 }

func (o *draftDeletion) do(s *statements) (result, written, error) {
	digest, _, err := s.specs.readDraft(o.specID)
	switch {
	case err != nil:
		return result{}, nothing, err
	case digest == nil:
		return result{err: noDraft(o.specID)}, nothing, nil
	case row.DraftEtag(digest) != o.ifMatch:
		return result{err: draftChanged(o.specID, digest)}, nothing, nil
	}
	if err := execute(s.specs.deleteDraft, o.specID); err != nil {
		return result{}, nothing, fmt.Errorf("delete draft: %w", err)
	}
	return result{}, aDraft, nil
}

// readDraft returns the digest of a draft, nil when there is none.
func (s *specStatements) readDraft(specID string) (digest []byte, updated int64, err error) {
	err = s.draft.QueryRow(specID).Scan(&digest, &updated)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, 0, nil
	}
	if err != nil {
		return nil, 0, fmt.Errorf("look up draft: %w", err)
	}
	return digest, updated, nil
}

func draftChanged(specID string, digest []byte) error {
	return &store.SpecChangedError{SpecID: specID, Draft: true, Etag: row.DraftEtag(digest)}
}

func noDraft(specID string) error {
	return fmt.Errorf("%w: draft of %.80q", store.ErrNotFound, store.SpecName(specID))
}
