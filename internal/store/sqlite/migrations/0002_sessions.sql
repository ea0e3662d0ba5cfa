-- Who is signed in. A token is kept as its SHA-256 only, so that a copy of the
-- file lets nobody in.
CREATE TABLE session (
  token   BLOB PRIMARY KEY NOT NULL,
  data    BLOB NOT NULL,
  expires INTEGER NOT NULL             -- ms since 1970-01-01 UTC
) STRICT, WITHOUT ROWID;

CREATE INDEX session_expires ON session (expires);
