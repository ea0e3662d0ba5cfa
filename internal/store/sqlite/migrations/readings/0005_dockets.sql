-- What is known of tanks besides their senders: receipts, known moments. Times are
-- Unix milliseconds. What the watch saw of a docket is kept with it, as the readings may
-- be gone one day; pictures are apart, so that a list doesn't read them.
CREATE TABLE docket (
  id        TEXT PRIMARY KEY NOT NULL,
  tank      TEXT NOT NULL,
  kind      TEXT NOT NULL,
  time      INTEGER NOT NULL,
  litres    REAL NOT NULL,
  kilograms REAL NOT NULL,
  typed     TEXT NOT NULL,
  stopped   INTEGER NOT NULL CHECK (stopped IN (0, 1)),
  note      TEXT NOT NULL,
  photo     TEXT NOT NULL,               -- its media type; '': there is none
  entered   INTEGER NOT NULL,
  struck    INTEGER NOT NULL CHECK (struck IN (0, 1)),
  seen      TEXT NOT NULL                -- JSON; '': it wasn't looked for
) STRICT, WITHOUT ROWID;

CREATE INDEX docket_tank ON docket (tank, time);

CREATE TABLE docket_photo (
  id    TEXT PRIMARY KEY NOT NULL REFERENCES docket (id),
  image BLOB NOT NULL
) STRICT;
