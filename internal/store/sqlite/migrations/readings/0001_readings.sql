-- The readings of a watch, in the order in which they were acknowledged.

-- What came in together is a row: up to some thousands of readings, packed; see
-- readings_body.go for what is in the body. Rows are only ever added.
CREATE TABLE batch (
  number   INTEGER PRIMARY KEY,
  earliest INTEGER NOT NULL,           -- of the readings' times, Unix seconds, rounded down
  latest   INTEGER NOT NULL,           -- the same of the latest
  readings INTEGER NOT NULL CHECK (readings >= 1),
  body     BLOB NOT NULL
) STRICT;

CREATE INDEX batch_latest ON batch (latest);

CREATE TRIGGER batch_not_updated BEFORE UPDATE ON batch
BEGIN SELECT RAISE(ABORT, 'readings are only ever added to'); END;
