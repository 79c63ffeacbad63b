-- What was received, as it was received. `sum` is SHA-256 over bytes, a line feed and signature: it finds what the disk did.
CREATE TABLE event (
  arrival INTEGER PRIMARY KEY,
  device TEXT NOT NULL,
  seq INTEGER NOT NULL,
  bytes TEXT NOT NULL,
  signature TEXT NOT NULL,
  sum BLOB NOT NULL,
  UNIQUE (device, seq)
) STRICT;
CREATE TRIGGER event_stays BEFORE DELETE ON event BEGIN SELECT RAISE(ABORT, 'an event is never deleted'); END;
CREATE TRIGGER event_stays_as_it_is BEFORE UPDATE ON event BEGIN SELECT RAISE(ABORT, 'an event is never changed'); END;

-- Computed from the bytes above; dropped and computed again at will.
CREATE TABLE placed (
  arrival INTEGER PRIMARY KEY,
  device TEXT NOT NULL,
  seq INTEGER NOT NULL,
  height INTEGER NOT NULL,
  subject TEXT,
  kind TEXT,
  at INTEGER
) STRICT;
CREATE INDEX placed_by_subject ON placed (subject, arrival);
CREATE TABLE series (
  device TEXT PRIMARY KEY,
  seq INTEGER NOT NULL,
  hash TEXT NOT NULL,
  height INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
-- The version of events the build read that computed them.
CREATE TABLE computed (version INTEGER NOT NULL) STRICT;

-- No events: destroyed, rotated, forgotten. Times are seconds since 1970.
CREATE TABLE person_key (person TEXT PRIMARY KEY, bytes BLOB NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE account (
  person TEXT PRIMARY KEY,
  phc TEXT NOT NULL,
  failed INTEGER NOT NULL,
  blocked_until INTEGER
) STRICT, WITHOUT ROWID;
CREATE TABLE session (
  token BLOB PRIMARY KEY,
  person TEXT NOT NULL,
  created INTEGER NOT NULL,
  seen INTEGER NOT NULL,
  expires INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX session_by_person ON session (person);
CREATE TABLE code (
  hash BLOB PRIMARY KEY,
  person TEXT NOT NULL,
  expires INTEGER NOT NULL,
  used INTEGER
) STRICT, WITHOUT ROWID;
CREATE TABLE own_key (one INTEGER PRIMARY KEY CHECK (one = 1), bytes BLOB NOT NULL) STRICT;
CREATE TABLE setting (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE act (number INTEGER PRIMARY KEY, who TEXT NOT NULL, at INTEGER NOT NULL) STRICT;
CREATE INDEX act_by_who ON act (who, at);
