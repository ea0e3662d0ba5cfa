-- What came in and went out of the tanks. Times are Unix milliseconds; amounts are
-- parts of what the full scale holds.
CREATE TABLE flow (
  tank     TEXT NOT NULL,
  kind     TEXT NOT NULL,
  start    INTEGER NOT NULL,
  finish   INTEGER,                    -- null: it goes on
  found    INTEGER NOT NULL,
  amount   REAL NOT NULL,
  low      REAL NOT NULL,
  high     REAL NOT NULL,
  per_hour REAL NOT NULL,
  before   REAL NOT NULL,              -- of the scale; -1: none
  after    REAL NOT NULL,
  p        REAL NOT NULL,
  fault    INTEGER NOT NULL,
  why      TEXT NOT NULL,
  PRIMARY KEY (tank, kind, start)
) STRICT, WITHOUT ROWID;

CREATE INDEX flow_time ON flow (tank, start);

-- How far the levels of a tank were followed, and what is known by then.
CREATE TABLE followed (
  tank  TEXT PRIMARY KEY NOT NULL,
  until INTEGER NOT NULL,
  curve INTEGER NOT NULL,              -- by which curve the levels were shown; 0: the sender's own
  body  BLOB NOT NULL                  -- internal/store/sqlite/flows.go has its form
) STRICT, WITHOUT ROWID;
