-- Photos of finds: the file lies in the home's folder photos, the ledger knows its bytes by their hash.
CREATE TABLE photo (
  sha256 TEXT NOT NULL,
  find_id TEXT NOT NULL REFERENCES find (id),
  file TEXT NOT NULL,                 -- name in the folder photos
  shows TEXT NOT NULL DEFAULT '',     -- which part it shows, in a few words
  taken_on TEXT,
  added_on TEXT NOT NULL,
  PRIMARY KEY (sha256, find_id)
) STRICT, WITHOUT ROWID;

CREATE INDEX photo_by_find ON photo (find_id);
