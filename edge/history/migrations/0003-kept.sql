-- What is kept beside splices and alarms, by kind: joints on their way, differences to the PLC's count. `view` is the newest
-- state as JSON.
CREATE TABLE kept (
  kind TEXT NOT NULL, id TEXT NOT NULL, unwind TEXT NOT NULL, t_ms INTEGER NOT NULL, recorded_ms INTEGER NOT NULL,
  view TEXT NOT NULL,
  PRIMARY KEY (kind, id)
) STRICT, WITHOUT ROWID;
CREATE INDEX kept_by_time ON kept (kind, t_ms);
