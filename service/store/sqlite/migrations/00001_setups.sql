-- Setups, supersession and the schema's own version.
--
-- Times are microseconds since 1970 UTC. Enums are their short names. Text
-- compares byte by byte (BINARY), which every index and filter relies on.

-- +goose Up
-- +goose StatementBegin
CREATE TABLE meta (
  only_row       INTEGER NOT NULL PRIMARY KEY CHECK (only_row = 1),
  schema_version INTEGER NOT NULL
) STRICT;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TABLE setups (
  seq           INTEGER PRIMARY KEY,        -- order of commit
  id            TEXT    NOT NULL UNIQUE,
  request_id    TEXT    NOT NULL,
  shop          TEXT    NOT NULL,
  create_time   INTEGER NOT NULL,
  technician    TEXT    NOT NULL,
  vin           TEXT    NOT NULL,
  model         TEXT    NOT NULL,
  model_year    INTEGER NOT NULL,
  market        TEXT    NOT NULL,
  phase         TEXT    NOT NULL,
  verdict       TEXT    NOT NULL,
  spec_revision TEXT    NOT NULL,
  finish_time   INTEGER NOT NULL,
  record_digest BLOB    NOT NULL CHECK (length(record_digest) = 32), -- SHA-256 of record
  report        BLOB    NOT NULL,           -- snapgauge.v1.Report
  record        BLOB    NOT NULL,           -- snapgauge.v1.SetupRecord, without expectation
  UNIQUE (shop, request_id)
) STRICT;
-- +goose StatementEnd

-- A list is read backwards from one of these, so that no page is sorted.
CREATE INDEX setups_by_time         ON setups (create_time, id);
CREATE INDEX setups_by_shop         ON setups (shop, create_time, id);
CREATE INDEX setups_by_shop_verdict ON setups (shop, verdict, create_time, id);
CREATE INDEX setups_by_verdict      ON setups (verdict, create_time, id);
CREATE INDEX setups_by_vin          ON setups (vin, create_time, id);

-- +goose StatementBegin
CREATE TABLE supersession (
  old_id TEXT NOT NULL PRIMARY KEY REFERENCES setups (id),
  new_id TEXT NOT NULL UNIQUE      REFERENCES setups (id),
  CHECK (old_id <> new_id)
) STRICT, WITHOUT ROWID;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER setups_never_change BEFORE UPDATE ON setups
BEGIN SELECT RAISE(ABORT, 'setups are append-only: UPDATE refused'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER setups_never_vanish BEFORE DELETE ON setups
BEGIN SELECT RAISE(ABORT, 'setups are append-only: DELETE refused'); END;
-- +goose StatementEnd
-- INSERT OR REPLACE deletes without the trigger above.
-- +goose StatementBegin
CREATE TRIGGER setups_never_replaced BEFORE INSERT ON setups
WHEN EXISTS (SELECT 1 FROM setups WHERE id = NEW.id)
  OR EXISTS (SELECT 1 FROM setups WHERE shop = NEW.shop AND request_id = NEW.request_id)
  OR EXISTS (SELECT 1 FROM setups WHERE seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'setups are append-only: row exists'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER supersession_never_changes BEFORE UPDATE ON supersession
BEGIN SELECT RAISE(ABORT, 'supersession is append-only: UPDATE refused'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER supersession_never_vanishes BEFORE DELETE ON supersession
BEGIN SELECT RAISE(ABORT, 'supersession is append-only: DELETE refused'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER supersession_never_replaced BEFORE INSERT ON supersession
WHEN EXISTS (SELECT 1 FROM supersession WHERE old_id = NEW.old_id)
  OR EXISTS (SELECT 1 FROM supersession WHERE new_id = NEW.new_id)
BEGIN SELECT RAISE(ABORT, 'supersession is append-only: row exists'); END;
-- +goose StatementEnd

INSERT INTO meta (only_row, schema_version) VALUES (1, 1);
PRAGMA application_id = 1397638989; -- "SNGM"
