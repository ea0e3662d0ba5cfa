-- Who may look, and which programs may read or hand in readings. Of a secret its
-- SHA-256 alone is kept, so that a copy of the file lets nobody in. Times are
-- Unix seconds; 0 is never.
CREATE TABLE pass (
  id      TEXT PRIMARY KEY NOT NULL,
  kind    TEXT NOT NULL CHECK (kind IN ('token', 'link')),
  name    TEXT NOT NULL,
  reads   INTEGER NOT NULL CHECK (reads IN (0, 1)),
  sends   INTEGER NOT NULL CHECK (sends IN (0, 1)),
  tanks   TEXT,                        -- a JSON array of names; NULL: all
  made    INTEGER NOT NULL,
  until   INTEGER NOT NULL,
  revoked INTEGER NOT NULL,
  used    INTEGER NOT NULL,            -- to an hour
  sum     BLOB NOT NULL CHECK (length(sum) = 32)
) STRICT, WITHOUT ROWID;

CREATE UNIQUE INDEX pass_sum ON pass (sum);
