-- Who guesses stays locked out over a restart. `tried` is the account's name with the browser's digest.
CREATE TABLE locks (
  tried TEXT PRIMARY KEY, is_user INTEGER NOT NULL, wrong INTEGER NOT NULL, locks INTEGER NOT NULL,
  last_ms INTEGER NOT NULL, until_ms INTEGER NOT NULL
) STRICT;

-- What is older than the config keeps may go; the last year never, whoever asks.
DROP TRIGGER audit_is_never_deleted;
CREATE TRIGGER audit_of_a_year_is_never_deleted BEFORE DELETE ON audit
WHEN OLD.t_ms > (unixepoch() - 365 * 86400) * 1000
BEGIN SELECT RAISE(ABORT, 'the audit of the last year is only added to'); END;
