-- What people add to a splice. Rows are only ever appended.
CREATE TABLE splice_entries (
  id INTEGER PRIMARY KEY AUTOINCREMENT, splice_id TEXT NOT NULL, recorded_ms INTEGER NOT NULL, entry TEXT NOT NULL
) STRICT;
CREATE INDEX splice_entries_by_splice ON splice_entries (splice_id, id);

-- What the newest entry says the splice was; the machine's verdict stays in `outcome`.
ALTER TABLE splices ADD COLUMN said_outcome TEXT;
