-- What happened to a splicer besides its splices: settings, services, trends.
CREATE TABLE log (
  id TEXT PRIMARY KEY, unwind TEXT NOT NULL, t_ms INTEGER NOT NULL, kind TEXT NOT NULL, subject TEXT NOT NULL,
  entry TEXT NOT NULL
) STRICT;
CREATE INDEX log_by_time ON log (t_ms);
CREATE INDEX log_by_unwind ON log (unwind, t_ms);
CREATE INDEX log_by_subject ON log (unwind, kind, subject, t_ms);

-- The verdict that counts: a person's, else the machine's.
ALTER TABLE splices ADD COLUMN said_cause TEXT;
UPDATE splices SET said_cause = (
  SELECT json_extract(entry, '$.cause') FROM splice_entries
  WHERE splice_id = splices.id AND json_extract(entry, '$.outcome') IS NOT NULL ORDER BY splice_entries.id DESC LIMIT 1)
WHERE said_outcome IS NOT NULL;
ALTER TABLE splices ADD COLUMN verdict TEXT GENERATED ALWAYS AS (coalesce(said_outcome, outcome)) VIRTUAL;
ALTER TABLE splices ADD COLUMN why TEXT
  GENERATED ALWAYS AS (iif(said_outcome IS NULL, json_extract(view, '$.cause'), said_cause)) VIRTUAL;

-- Every filter ends in the order of the list, so that its first page needs no sorting. Few splices have a cause.
DROP INDEX splices_by_start;
CREATE INDEX splices_by_start ON splices (started_ms, id);
CREATE INDEX splices_by_unwind ON splices (unwind, started_ms, id);
CREATE INDEX splices_by_verdict ON splices (verdict, started_ms, id);
CREATE INDEX splices_by_unwind_and_verdict ON splices (unwind, verdict, started_ms, id);
CREATE INDEX splices_by_why ON splices (why, started_ms, id) WHERE why IS NOT NULL;
CREATE INDEX splices_by_unwind_and_why ON splices (unwind, why, started_ms, id) WHERE why IS NOT NULL;

-- Words of a splice (rolls, materials, what people wrote) in the order of the list: the row's number is the start in ms
-- × 1024, plus a count where several start in one ms. So a page and a span of time are ranges of numbers. What has no number
-- yet gets it and its words when the store is opened.
ALTER TABLE splices ADD COLUMN word_id INTEGER;
CREATE UNIQUE INDEX splices_by_word_id ON splices (word_id);
CREATE INDEX splices_without_words ON splices (id) WHERE word_id IS NULL;
-- Three tables, for a word that a million splices have must not be met with a filter that few of them pass: all splices; each
-- unwind's, the unwind's name before each word; and those that were not good, with what they were.
CREATE VIRTUAL TABLE splice_words USING fts5 (
  words, content = '', contentless_delete = 1, detail = none, prefix = '4 5 6', tokenize = "unicode61 tokenchars '_'");
CREATE VIRTUAL TABLE unwind_words USING fts5 (
  words, content = '', contentless_delete = 1, detail = none, tokenize = "unicode61 tokenchars '_'");
CREATE VIRTUAL TABLE bad_words USING fts5 (
  unwind, verdict, why, words, content = '', contentless_delete = 1, detail = column, tokenize = "unicode61 tokenchars '_'");
-- What is old is found without reading every trace.
CREATE INDEX trace_pieces_by_time ON trace_pieces (recorded_ms, splice_id);
