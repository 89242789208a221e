-- What was learned of each taxon, and how good the forecasts were: dated, never changed.
CREATE TABLE learned (
  id TEXT PRIMARY KEY,
  taxon_id TEXT NOT NULL,
  made_on TEXT NOT NULL,
  book_version TEXT NOT NULL,
  document TEXT NOT NULL CHECK (json_valid(document))
) STRICT;

CREATE TABLE judgement (
  id TEXT PRIMARY KEY,
  made_on TEXT NOT NULL,
  book_version TEXT NOT NULL,
  document TEXT NOT NULL CHECK (json_valid(document))
) STRICT;

CREATE INDEX learned_by_taxon ON learned (taxon_id, made_on);
