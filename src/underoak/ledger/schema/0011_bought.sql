-- Bought mushrooms: no find and no verdict, but a shop and a day to trace their jars back to.
CREATE TABLE bought (
  id TEXT PRIMARY KEY,
  taxon_id TEXT NOT NULL,             -- of the book, or the seller's words where the book has no such kind
  shop TEXT NOT NULL CHECK (shop <> ''),
  fresh_g REAL NOT NULL CHECK (fresh_g > 0),
  bought_on TEXT NOT NULL,
  bought_at TEXT NOT NULL             -- local day and time
) STRICT;

CREATE TABLE batch_bought (
  batch_id TEXT NOT NULL REFERENCES batch (id),
  lot_id TEXT NOT NULL REFERENCES bought (id),
  fresh_g REAL NOT NULL CHECK (fresh_g > 0),
  PRIMARY KEY (batch_id, lot_id)
) STRICT, WITHOUT ROWID;

CREATE INDEX batch_by_bought ON batch_bought (lot_id);

-- Found and bought together, for all that asks what a batch is made of.
CREATE VIEW any_lot AS
SELECT id, find_id, taxon_id, verdict_id, fresh_g, picked_on, picked_at, kept, dirt, NULL AS shop FROM lot
UNION ALL
SELECT id, NULL, taxon_id, NULL, fresh_g, bought_on, bought_at, '[]', 'clean', shop FROM bought;

CREATE VIEW any_batch_lot AS
SELECT batch_id, lot_id, fresh_g FROM batch_lot
UNION ALL
SELECT batch_id, lot_id, fresh_g FROM batch_bought;
