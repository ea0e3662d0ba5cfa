-- The jobs of a workshop, with every revision of each.

-- What the list of jobs shows and searches. The document stands elsewhere, so
-- that going through this table reads few pages.
CREATE TABLE job (
  id       TEXT PRIMARY KEY NOT NULL,
  revision INTEGER NOT NULL CHECK (revision >= 1),
  place    TEXT NOT NULL DEFAULT '',   -- where it was left
  number   TEXT NOT NULL,
  customer TEXT NOT NULL,
  vehicle  TEXT NOT NULL,
  date     TEXT NOT NULL,
  search   TEXT NOT NULL,              -- what a search looks at, in small letters
  tanks    TEXT NOT NULL,              -- the tanks' lines in the list, as JSON
  made     TEXT NOT NULL,              -- RFC 3339, UTC
  changed  TEXT NOT NULL,              -- RFC 3339, UTC
  last     INTEGER NOT NULL            -- number of the last row of revision
) STRICT;

CREATE UNIQUE INDEX job_last ON job (last);

-- The present job file of each job.
CREATE TABLE document (
  job  TEXT PRIMARY KEY NOT NULL REFERENCES job (id),
  text TEXT NOT NULL
) STRICT;

-- Every revision that ever was: 1 is the job as it was started, each one more
-- is a change. Rows are only ever added.
CREATE TABLE revision (
  number   INTEGER PRIMARY KEY,        -- in the order in which they came
  job      TEXT NOT NULL REFERENCES job (id) DEFERRABLE INITIALLY DEFERRED,
  revision INTEGER NOT NULL CHECK (revision >= 1),
  at       TEXT NOT NULL,              -- RFC 3339, UTC
  by       TEXT NOT NULL,
  words    TEXT NOT NULL,
  key      TEXT NOT NULL,              -- names the change; '' for none
  document BLOB NOT NULL,              -- the job file after it, by gzip
  UNIQUE (job, revision)
) STRICT;

CREATE UNIQUE INDEX revision_key ON revision (job, key) WHERE key <> '';

CREATE TRIGGER revision_not_updated BEFORE UPDATE ON revision
BEGIN SELECT RAISE(ABORT, 'the history of a job is only ever added to'); END;

CREATE TRIGGER revision_not_deleted BEFORE DELETE ON revision
BEGIN SELECT RAISE(ABORT, 'the history of a job is only ever added to'); END;

-- The keys that jobs were started with.
CREATE TABLE start (
  key TEXT PRIMARY KEY NOT NULL,
  job TEXT NOT NULL REFERENCES job (id)
) STRICT, WITHOUT ROWID;

-- What is noted for the whole workshop.
CREATE TABLE note (
  name  TEXT PRIMARY KEY NOT NULL,
  value TEXT NOT NULL
) STRICT, WITHOUT ROWID;
