-- Spec revisions, their changes and drafts; an index for the set-ups of a spec.
--
-- A revision is a row in spec_revisions and its change of kind PUBLISHED, written
-- in one transaction. When it was recorded stands with the change alone.

-- +goose Up
-- +goose StatementBegin
CREATE TABLE spec_revisions (
  seq                  INTEGER PRIMARY KEY,
  spec_id              TEXT    NOT NULL,
  revision             INTEGER NOT NULL CHECK (revision >= 1),
  digest               BLOB    NOT NULL CHECK (length(digest) = 32), -- SHA-256 of sheet
  make                 TEXT    NOT NULL,
  model                TEXT    NOT NULL,
  model_year           INTEGER NOT NULL,
  market               TEXT    NOT NULL,
  change_note          TEXT    NOT NULL,
  source_document      TEXT    NOT NULL,
  characteristic_count INTEGER NOT NULL,
  effective_time       INTEGER NOT NULL,
  sheet                BLOB    NOT NULL, -- canonical form; last, so that a history never reads it
  UNIQUE (spec_id, revision),
  UNIQUE (spec_id, digest)
) STRICT;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TABLE spec_changes (
  position      INTEGER PRIMARY KEY,
  kind          TEXT    NOT NULL CHECK (kind IN ('PUBLISHED', 'WITHDRAWN')),
  spec_id       TEXT    NOT NULL,
  revision      INTEGER NOT NULL,
  recorded_time INTEGER NOT NULL,
  reason        TEXT    NOT NULL CHECK ((reason <> '') = (kind = 'WITHDRAWN')),
  UNIQUE (spec_id, revision, kind),
  FOREIGN KEY (spec_id, revision) REFERENCES spec_revisions (spec_id, revision)
) STRICT;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TABLE spec_drafts (
  spec_id     TEXT    NOT NULL PRIMARY KEY,
  update_time INTEGER NOT NULL,
  digest      BLOB    NOT NULL CHECK (length(digest) = 32), -- SHA-256 of sheet
  sheet       BLOB    NOT NULL                              -- canonical form
) STRICT;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER spec_revisions_never_change BEFORE UPDATE ON spec_revisions
BEGIN SELECT RAISE(ABORT, 'spec_revisions are append-only: UPDATE refused'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER spec_revisions_never_vanish BEFORE DELETE ON spec_revisions
BEGIN SELECT RAISE(ABORT, 'spec_revisions are append-only: DELETE refused'); END;
-- +goose StatementEnd
-- INSERT OR REPLACE deletes without the trigger above. This one sees to it that
-- revisions are numbered without gaps, and that nothing is there to be replaced.
-- +goose StatementBegin
CREATE TRIGGER spec_revisions_follow BEFORE INSERT ON spec_revisions
WHEN NEW.revision <> 1 + coalesce((SELECT max(revision) FROM spec_revisions WHERE spec_id = NEW.spec_id), 0)
  OR EXISTS (SELECT 1 FROM spec_revisions WHERE spec_id = NEW.spec_id AND digest = NEW.digest)
  OR EXISTS (SELECT 1 FROM spec_revisions WHERE seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'spec_revisions are append-only: not the next revision'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER spec_changes_never_change BEFORE UPDATE ON spec_changes
BEGIN SELECT RAISE(ABORT, 'spec_changes are append-only: UPDATE refused'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER spec_changes_never_vanish BEFORE DELETE ON spec_changes
BEGIN SELECT RAISE(ABORT, 'spec_changes are append-only: DELETE refused'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER spec_changes_follow BEFORE INSERT ON spec_changes
WHEN NEW.position <> 1 + coalesce((SELECT max(position) FROM spec_changes), 0)
  OR NEW.recorded_time < (SELECT recorded_time FROM spec_changes ORDER BY position DESC LIMIT 1)
  OR EXISTS (SELECT 1 FROM spec_changes
             WHERE spec_id = NEW.spec_id AND revision = NEW.revision AND kind = NEW.kind)
BEGIN SELECT RAISE(ABORT, 'spec_changes are append-only: not the next change'); END;
-- +goose StatementEnd

-- The set-ups judged by one revision, and those judged by any revision of one
-- spec, in the order of lists. The expression is everything up to and with the
-- first "/revisions/"; queries must repeat it to the letter.
CREATE INDEX setups_by_spec_revision ON setups (spec_revision, create_time, id);
CREATE INDEX setups_by_spec ON setups (substr(spec_revision, 1, instr(spec_revision, '/revisions/') + 10), create_time, id);

UPDATE meta SET schema_version = 2;
