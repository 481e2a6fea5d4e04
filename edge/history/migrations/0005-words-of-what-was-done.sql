-- What people entered is found by what caused it and what was done, too: such a splice gets its words anew when the store is
-- opened. Its number stays what it was, or its old words are of no splice any more.
UPDATE splices SET word_id = NULL WHERE id IN (SELECT splice_id FROM splice_entries);
