-- The alarms of a watch as they stand, and what they did. Times are Unix milliseconds.
CREATE TABLE alarm (
  id   TEXT PRIMARY KEY NOT NULL,      -- TANK/NAME
  body TEXT NOT NULL                   -- JSON: alarm.Point
) STRICT, WITHOUT ROWID;

CREATE TABLE alarm_move (
  number INTEGER PRIMARY KEY AUTOINCREMENT, -- in the order in which they were told
  alarm  TEXT NOT NULL,
  time   INTEGER NOT NULL,             -- of what it tells, so not always rising
  "from" TEXT NOT NULL,                -- states
  "to"   TEXT NOT NULL,
  "by"   TEXT NOT NULL,                -- who; '': the watch
  what   TEXT NOT NULL,
  UNIQUE (alarm, time, "from", "to")
) STRICT;
