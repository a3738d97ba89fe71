-- Setups, supersession, spec revisions, their changes and drafts, and the
-- schema's own version.
--
-- Times are microseconds since 1970 UTC. Enums are their short names. Text
-- compares byte by byte ("C"), which every index and filter relies on.

-- +goose Up
CREATE TABLE snapgauge_meta (
  only_row       boolean NOT NULL PRIMARY KEY CHECK (only_row),
  schema_version integer NOT NULL
);

CREATE TABLE setups (
  id            text COLLATE "C" NOT NULL PRIMARY KEY,
  request_id    text COLLATE "C" NOT NULL,
  shop          text COLLATE "C" NOT NULL,
  create_time   bigint           NOT NULL,
  technician    text COLLATE "C" NOT NULL,
  vin           text COLLATE "C" NOT NULL,
  model         text COLLATE "C" NOT NULL,
  model_year    bigint           NOT NULL,
  market        text COLLATE "C" NOT NULL,
  phase         text COLLATE "C" NOT NULL,
  verdict       text COLLATE "C" NOT NULL,
  spec_revision text COLLATE "C" NOT NULL,
  finish_time   bigint           NOT NULL,
  record_digest bytea            NOT NULL CHECK (octet_length(record_digest) = 32), -- SHA-256 of record
  report        bytea            NOT NULL, -- snapgauge.v1.Report
  record        bytea            NOT NULL, -- snapgauge.v1.SetupRecord, without expectation
  CONSTRAINT setups_by_request UNIQUE (shop, request_id)
);

-- A list is read backwards from one of these, so that no page is sorted.
CREATE INDEX setups_by_time          ON setups (create_time, id);
CREATE INDEX setups_by_shop          ON setups (shop, create_time, id);
CREATE INDEX setups_by_shop_verdict  ON setups (shop, verdict, create_time, id);
CREATE INDEX setups_by_verdict       ON setups (verdict, create_time, id);
CREATE INDEX setups_by_vin           ON setups (vin, create_time, id);
-- The set-ups judged by one revision, and those judged by any revision of one
-- spec. The expression is everything up to and with the first "/revisions/";
-- queries must repeat it to the letter.
CREATE INDEX setups_by_spec_revision ON setups (spec_revision, create_time, id);
CREATE INDEX setups_by_spec ON setups (left(spec_revision, strpos(spec_revision, '/revisions/') + 10), create_time, id);

CREATE TABLE supersession (
  old_id text COLLATE "C" NOT NULL PRIMARY KEY REFERENCES setups (id),
  new_id text COLLATE "C" NOT NULL UNIQUE      REFERENCES setups (id),
  CHECK (old_id <> new_id)
);

-- A revision is a row in spec_revisions and its change of kind PUBLISHED, written
-- in one transaction. When it was recorded stands with the change alone.
CREATE TABLE spec_revisions (
  spec_id              text COLLATE "C" NOT NULL,
  revision             bigint           NOT NULL CHECK (revision >= 1),
  digest               bytea            NOT NULL CHECK (octet_length(digest) = 32), -- SHA-256 of sheet
  make                 text COLLATE "C" NOT NULL,
  model                text COLLATE "C" NOT NULL,
  model_year           bigint           NOT NULL,
  market               text COLLATE "C" NOT NULL,
  change_note          text COLLATE "C" NOT NULL,
  source_document      text COLLATE "C" NOT NULL,
  characteristic_count bigint           NOT NULL,
  effective_time       bigint           NOT NULL,
  sheet                bytea            NOT NULL, -- canonical form
  PRIMARY KEY (spec_id, revision),
  UNIQUE (spec_id, digest)
);

CREATE TABLE spec_changes (
  position      bigint           NOT NULL PRIMARY KEY,
  kind          text COLLATE "C" NOT NULL CHECK (kind IN ('PUBLISHED', 'WITHDRAWN')),
  spec_id       text COLLATE "C" NOT NULL,
  revision      bigint           NOT NULL,
  recorded_time bigint           NOT NULL,
  reason        text COLLATE "C" NOT NULL CHECK ((reason <> '') = (kind = 'WITHDRAWN')),
  UNIQUE (spec_id, revision, kind),
  FOREIGN KEY (spec_id, revision) REFERENCES spec_revisions (spec_id, revision)
);

CREATE TABLE spec_drafts (
  spec_id     text COLLATE "C" NOT NULL PRIMARY KEY,
  update_time bigint           NOT NULL,
  digest      bytea            NOT NULL CHECK (octet_length(digest) = 32), -- SHA-256 of sheet
  sheet       bytea            NOT NULL                                    -- canonical form
);

-- +goose StatementBegin
CREATE FUNCTION snapgauge_append_only() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '% is append-only: % refused', TG_TABLE_NAME, TG_OP;
END $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION snapgauge_next_revision() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF NEW.revision <> 1 + coalesce((SELECT max(revision) FROM spec_revisions WHERE spec_id = NEW.spec_id), 0) THEN
    RAISE EXCEPTION 'spec_revisions is append-only: % is not the next revision of %', NEW.revision, NEW.spec_id;
  END IF;
  RETURN NEW;
END $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION snapgauge_next_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF NEW.position <> 1 + coalesce((SELECT max(position) FROM spec_changes), 0)
    OR NEW.recorded_time < (SELECT recorded_time FROM spec_changes ORDER BY position DESC LIMIT 1) THEN
    RAISE EXCEPTION 'spec_changes is append-only: % is not the next change', NEW.position;
  END IF;
  RETURN NEW;
END $$;
-- +goose StatementEnd

CREATE TRIGGER never_change BEFORE UPDATE OR DELETE ON setups
  FOR EACH ROW EXECUTE FUNCTION snapgauge_append_only();
CREATE TRIGGER never_vanish BEFORE TRUNCATE ON setups
  FOR EACH STATEMENT EXECUTE FUNCTION snapgauge_append_only();
CREATE TRIGGER never_change BEFORE UPDATE OR DELETE ON supersession
  FOR EACH ROW EXECUTE FUNCTION snapgauge_append_only();
CREATE TRIGGER never_vanish BEFORE TRUNCATE ON supersession
  FOR EACH STATEMENT EXECUTE FUNCTION snapgauge_append_only();
CREATE TRIGGER never_change BEFORE UPDATE OR DELETE ON spec_revisions
  FOR EACH ROW EXECUTE FUNCTION snapgauge_append_only();
CREATE TRIGGER never_vanish BEFORE TRUNCATE ON spec_revisions
  FOR EACH STATEMENT EXECUTE FUNCTION snapgauge_append_only();
CREATE TRIGGER follow BEFORE INSERT ON spec_revisions
  FOR EACH ROW EXECUTE FUNCTION snapgauge_next_revision();
CREATE TRIGGER never_change BEFORE UPDATE OR DELETE ON spec_changes
  FOR EACH ROW EXECUTE FUNCTION snapgauge_append_only();
CREATE TRIGGER never_vanish BEFORE TRUNCATE ON spec_changes
  FOR EACH STATEMENT EXECUTE FUNCTION snapgauge_append_only();
CREATE TRIGGER follow BEFORE INSERT ON spec_changes
  FOR EACH ROW EXECUTE FUNCTION snapgauge_next_change();

INSERT INTO snapgauge_meta (only_row, schema_version) VALUES (true, 1);
