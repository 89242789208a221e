-- The letters that stand before the codes of this household's batches and jars, so that pantries can be joined;
-- and which verdict of a find was given after which: ledgers that are joined have no common order of insertion.
CREATE TABLE household (
  one INTEGER PRIMARY KEY CHECK (one = 1),
  tag TEXT NOT NULL
) STRICT;

CREATE TABLE verdict_order (
  verdict_id TEXT PRIMARY KEY REFERENCES verdict (id),
  number INTEGER NOT NULL CHECK (number > 0)
) STRICT, WITHOUT ROWID;

INSERT INTO verdict_order (verdict_id, number)
SELECT id, row_number() OVER (PARTITION BY find_id ORDER BY given_on, rowid) FROM verdict;
