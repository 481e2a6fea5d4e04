-- Who may do what, and who did what. Apart from the history: its loss or repair must neither sign people out nor drop the audit.
-- Times are ms since 1970 UTC.

CREATE TABLE users (
  person TEXT PRIMARY KEY, role TEXT NOT NULL, password_hash TEXT NOT NULL, must_change INTEGER NOT NULL,
  created_ms INTEGER NOT NULL, last_sign_in_ms INTEGER, browsers TEXT NOT NULL
) STRICT;

CREATE TABLE sessions (digest TEXT PRIMARY KEY, person TEXT NOT NULL, until_ms INTEGER NOT NULL) STRICT;

CREATE TABLE set_up_link (one INTEGER PRIMARY KEY CHECK (one = 1), digest TEXT NOT NULL, until_ms INTEGER NOT NULL) STRICT;

-- AUTOINCREMENT: ids rise without a gap, so that one that was taken out by other means is missed.
CREATE TABLE audit (
  id INTEGER PRIMARY KEY AUTOINCREMENT, t_ms INTEGER NOT NULL, person TEXT NOT NULL, origin TEXT NOT NULL,
  action TEXT NOT NULL, subject TEXT NOT NULL, result TEXT NOT NULL, detail TEXT NOT NULL
) STRICT;
CREATE INDEX audit_by_time ON audit (t_ms);
CREATE TRIGGER audit_is_never_changed BEFORE UPDATE ON audit BEGIN SELECT RAISE(ABORT, 'the audit is only added to'); END;
CREATE TRIGGER audit_is_never_deleted BEFORE DELETE ON audit BEGIN SELECT RAISE(ABORT, 'the audit is only added to'); END;
