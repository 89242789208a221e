-- What the kitchen needs to know of a lot, what a household did against the advice, who ate what,
-- and where an uncooked body of a find is kept.

ALTER TABLE lot ADD COLUMN picked_at TEXT NOT NULL DEFAULT '';
ALTER TABLE lot ADD COLUMN kept TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(kept));
ALTER TABLE lot ADD COLUMN dirt TEXT NOT NULL DEFAULT 'some' CHECK (dirt IN ('clean', 'some', 'dirty'));

-- A list of sentences; anything in it keeps every jar of the batch under its warning for ever.
ALTER TABLE batch ADD COLUMN against_advice TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(against_advice));

ALTER TABLE jar ADD COLUMN stands TEXT CHECK (stands IN ('freezer', 'refrigerator', 'cool_room', 'room'));
ALTER TABLE jar ADD COLUMN state_note TEXT NOT NULL DEFAULT '';

CREATE TABLE serving (
  id TEXT PRIMARY KEY,
  eaten_at TEXT NOT NULL,             -- local day and time
  person TEXT NOT NULL,
  taxon_id TEXT NOT NULL,
  jar_id TEXT REFERENCES jar (id),
  batch_id TEXT REFERENCES batch (id),
  grams REAL CHECK (grams > 0),
  first_taste INTEGER NOT NULL DEFAULT 0 CHECK (first_taste IN (0, 1)),
  reaction TEXT NOT NULL DEFAULT '',  -- empty: nothing was noted, which is not "nothing happened"
  reaction_at TEXT,
  note TEXT NOT NULL DEFAULT ''
) STRICT;

CREATE TABLE specimen (
  find_id TEXT NOT NULL REFERENCES find (id),
  kept_where TEXT NOT NULL,
  kept_on TEXT NOT NULL,
  PRIMARY KEY (find_id, kept_where)
) STRICT, WITHOUT ROWID;

CREATE INDEX serving_by_person ON serving (person, taxon_id);
CREATE INDEX serving_by_time ON serving (eaten_at);
