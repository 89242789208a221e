-- What telephones noted in the woods, entry by entry as it came, so that loading twice does nothing twice
-- and entries that disagree both stay. The primary key holds the content too: one id may stand for two.
CREATE TABLE pack_entry (
  pack_id TEXT NOT NULL,
  id TEXT NOT NULL,
  digest TEXT NOT NULL,               -- sha256 of the entry
  device TEXT NOT NULL,
  about TEXT NOT NULL,
  head TEXT NOT NULL CHECK (json_valid(head)),
  document TEXT NOT NULL CHECK (json_valid(document)),
  PRIMARY KEY (pack_id, id, digest)
) STRICT;
