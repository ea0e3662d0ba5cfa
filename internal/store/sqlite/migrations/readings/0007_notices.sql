-- What is to be told to people and programs, a row for each way that it goes by. It is
-- here before it is tried, so that it is tried again after a cut. Times are Unix
-- milliseconds; 0 is never. One of next, done and dead isn't 0.
CREATE TABLE notice (
  way       TEXT NOT NULL,
  id        TEXT NOT NULL,
  rank      INTEGER NOT NULL,          -- how pressing: 0 the most
  time      INTEGER NOT NULL,          -- of what it tells
  queued    INTEGER NOT NULL,          -- since when it waits
  tries     INTEGER NOT NULL,
  next      INTEGER NOT NULL,          -- when it is tried next
  last      INTEGER NOT NULL,          -- when it was tried last
  why       TEXT NOT NULL,             -- that failed then
  unreached INTEGER NOT NULL CHECK (unreached IN (0, 1)),
  done      INTEGER NOT NULL,          -- delivered
  dead      INTEGER NOT NULL,          -- given up
  body      TEXT NOT NULL,             -- the notice, in JSON
  PRIMARY KEY (way, id)
) STRICT, WITHOUT ROWID;

CREATE INDEX notice_next ON notice (way, next) WHERE next > 0;
CREATE INDEX notice_due ON notice (way, rank, time, id, next) WHERE next > 0;
CREATE INDEX notice_least ON notice (rank DESC, time, way, id) WHERE next > 0;
CREATE INDEX notice_done ON notice (done) WHERE done > 0;
CREATE INDEX notice_dead ON notice (dead) WHERE dead > 0;

-- For how many there was no room, until that is told.
CREATE TABLE notice_lost (
  way   TEXT PRIMARY KEY NOT NULL,
  n     INTEGER NOT NULL,
  first INTEGER NOT NULL,              -- times of what they told
  last  INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- Browsers that are told by Web Push. The body is what the browser gave.
CREATE TABLE subscription (
  endpoint TEXT PRIMARY KEY NOT NULL,
  label    TEXT NOT NULL,              -- of the device, for people
  made     INTEGER NOT NULL,
  body     TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- The private key by which push services know this watch (RFC 8292).
CREATE TABLE push_key (
  number  INTEGER PRIMARY KEY CHECK (number = 1),
  private BLOB NOT NULL
) STRICT;
