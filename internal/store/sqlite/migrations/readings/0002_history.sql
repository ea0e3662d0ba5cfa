-- Readings as history: what was kept last is "hot", in the order in which it came;
-- the rest is sealed into chunks, line by line, and rolled up. Times are Unix
-- milliseconds unless said. docs/history.md has the forms of the bodies.
--
-- The table "batch" of the layout before is emptied into these by the program when
-- it next opens the file (readings_old.go), and is gone then.

-- A run of readings: what a tank's source said of one signal.
CREATE TABLE line (
  number INTEGER PRIMARY KEY,
  tank   TEXT NOT NULL,
  source TEXT NOT NULL,
  signal INTEGER NOT NULL,             -- 0 ohm, 1 volt, 2 count, 3 percent
  sealed INTEGER NOT NULL DEFAULT 0,   -- up to this row of hot, its readings are in chunks
  latest INTEGER,                      -- time of the latest reading that was ever sealed
  UNIQUE (tank, source, signal)
) STRICT;

-- What was kept by one commit (some thousands of readings at the most). No index,
-- no other column: a commit changes the last page of this table and no other.
CREATE TABLE hot (
  number INTEGER PRIMARY KEY,
  body   BLOB NOT NULL
) STRICT;

-- Sealed readings of a line, ordered by their times. Numbers only ever rise.
CREATE TABLE chunk (
  number   INTEGER PRIMARY KEY AUTOINCREMENT,
  line     INTEGER NOT NULL REFERENCES line (number),
  earliest INTEGER NOT NULL,
  latest   INTEGER NOT NULL,
  readings INTEGER NOT NULL CHECK (readings >= 1),
  body     BLOB NOT NULL
) STRICT;

CREATE INDEX chunk_time ON chunk (line, latest, earliest, readings);

CREATE TRIGGER chunk_not_updated BEFORE UPDATE ON chunk
BEGIN SELECT RAISE(ABORT, 'chunks are never changed'); END;

-- Least, most, sum and number of a line's sealed readings by minute (step 0), hour
-- (1) and day (2) in UTC: 1,440 of them to a block, counted from 1970.
CREATE TABLE roll (
  line  INTEGER NOT NULL,
  step  INTEGER NOT NULL CHECK (step BETWEEN 0 AND 2),
  block INTEGER NOT NULL,
  body  BLOB NOT NULL,
  PRIMARY KEY (line, step, block)
) STRICT, WITHOUT ROWID;

-- Tanks whose levels are rolled up, and until when (null: not yet).
CREATE TABLE tank (
  number       INTEGER PRIMARY KEY,
  name         TEXT NOT NULL UNIQUE,
  levels_until INTEGER
) STRICT;

-- The same as roll of the levels of a tank.
CREATE TABLE level (
  tank  INTEGER NOT NULL,
  step  INTEGER NOT NULL CHECK (step BETWEEN 0 AND 2),
  block INTEGER NOT NULL,
  body  BLOB NOT NULL,
  PRIMARY KEY (tank, step, block)
) STRICT, WITHOUT ROWID;

-- What happened.
CREATE TABLE event (
  number INTEGER PRIMARY KEY,
  time   INTEGER NOT NULL,
  tank   TEXT NOT NULL,                -- '': the watch itself
  kind   TEXT NOT NULL,
  fault  INTEGER NOT NULL,
  status INTEGER NOT NULL,
  level  REAL,                         -- of the scale, 0 to 1; null: none
  text   TEXT NOT NULL,
  UNIQUE (time, tank, kind)
) STRICT;

CREATE INDEX event_tank ON event (tank, time);

-- What the file has to remember of itself.
CREATE TABLE mark (
  name  TEXT PRIMARY KEY NOT NULL,     -- 'gone': readings before this time were let go of
  value INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- What was damaged and left out, as it was found.
CREATE TABLE aside (
  what   TEXT NOT NULL,                -- 'hot', 'roll', 'level'
  number TEXT NOT NULL,
  body   BLOB NOT NULL,
  PRIMARY KEY (what, number)
) STRICT;
