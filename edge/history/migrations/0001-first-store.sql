-- Times are ms since 1970 UTC. STRICT: a number of the wrong kind is refused instead of kept as something else.

-- One minute of one signal, compressed, with its roll-up beside it.
CREATE TABLE signal_minutes (
  unwind TEXT NOT NULL, signal TEXT NOT NULL, t_ms INTEGER NOT NULL,
  n INTEGER NOT NULL, low REAL, high REAL, mean REAL,
  points BLOB NOT NULL,
  PRIMARY KEY (unwind, signal, t_ms)
) STRICT, WITHOUT ROWID;
CREATE INDEX signal_minutes_by_time ON signal_minutes (t_ms);

-- What outlives the samples: one row per signal and hour.
CREATE TABLE signal_hours (
  unwind TEXT NOT NULL, signal TEXT NOT NULL, t_ms INTEGER NOT NULL,
  n INTEGER NOT NULL, low REAL, high REAL, total REAL NOT NULL,
  PRIMARY KEY (unwind, signal, t_ms)
) STRICT, WITHOUT ROWID;

-- Samples of minutes that are not over yet: durable each second, compressed once the minute is over.
CREATE TABLE signal_tail (
  unwind TEXT NOT NULL, signal TEXT NOT NULL, minute_ms INTEGER NOT NULL, t_ms INTEGER NOT NULL, value REAL
) STRICT;
CREATE INDEX signal_tail_by_minute ON signal_tail (minute_ms, unwind, signal);

CREATE TABLE forecast_minutes (
  unwind TEXT NOT NULL, t_ms INTEGER NOT NULL, rows BLOB NOT NULL,
  PRIMARY KEY (unwind, t_ms)
) STRICT, WITHOUT ROWID;
CREATE INDEX forecast_minutes_by_time ON forecast_minutes (t_ms);
CREATE TABLE forecast_tail (
  unwind TEXT NOT NULL, minute_ms INTEGER NOT NULL, t_ms INTEGER NOT NULL, row TEXT NOT NULL
) STRICT;
CREATE INDEX forecast_tail_by_minute ON forecast_tail (minute_ms, unwind);

-- `view` is the newest revision as JSON; every earlier one is kept.
CREATE TABLE splices (
  id TEXT PRIMARY KEY, unwind TEXT NOT NULL, started_ms INTEGER NOT NULL, outcome TEXT,
  revision INTEGER NOT NULL, recorded_ms INTEGER NOT NULL, view TEXT NOT NULL
) STRICT;
CREATE INDEX splices_by_start ON splices (started_ms);
CREATE TABLE splice_revisions (
  id TEXT NOT NULL, revision INTEGER NOT NULL, recorded_ms INTEGER NOT NULL, view TEXT NOT NULL,
  PRIMARY KEY (id, revision)
) STRICT;

CREATE TABLE trace_pieces (
  splice_id TEXT NOT NULL, piece INTEGER NOT NULL, recorded_ms INTEGER NOT NULL, points BLOB NOT NULL,
  PRIMARY KEY (splice_id, piece)
) STRICT;

CREATE TABLE alarms (
  id TEXT PRIMARY KEY, unwind TEXT NOT NULL, raised_ms INTEGER NOT NULL, state TEXT NOT NULL,
  revision INTEGER NOT NULL, recorded_ms INTEGER NOT NULL, view TEXT NOT NULL
) STRICT;
CREATE INDEX alarms_by_raising ON alarms (raised_ms);
CREATE INDEX alarms_by_state ON alarms (state);
CREATE TABLE alarm_revisions (
  id TEXT NOT NULL, revision INTEGER NOT NULL, recorded_ms INTEGER NOT NULL, view TEXT NOT NULL,
  PRIMARY KEY (id, revision)
) STRICT;

CREATE TABLE snapshots (key TEXT PRIMARY KEY, t_ms INTEGER NOT NULL, data TEXT NOT NULL) STRICT;

-- AUTOINCREMENT: an id is never given twice, so what was sent can't be mistaken for what came later.
CREATE TABLE spool (id INTEGER PRIMARY KEY AUTOINCREMENT, point TEXT NOT NULL) STRICT;
CREATE TABLE dead_letters (
  id INTEGER PRIMARY KEY AUTOINCREMENT, recorded_ms INTEGER NOT NULL, point TEXT NOT NULL, reason TEXT NOT NULL
) STRICT;

-- What was dropped because a limit was reached, by kind.
CREATE TABLE dropped (kind TEXT PRIMARY KEY, n INTEGER NOT NULL) STRICT;
