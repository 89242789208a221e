-- Forms that are half filled in, so that a reload or another telephone goes on where somebody stopped,
-- and forms that were sent, so that sending one twice does nothing twice.
CREATE TABLE draft (
  kind TEXT NOT NULL,
  id TEXT NOT NULL,
  document TEXT NOT NULL CHECK (json_valid(document)),
  PRIMARY KEY (kind, id)
) STRICT, WITHOUT ROWID;

CREATE TABLE form_sent (
  token TEXT PRIMARY KEY,
  sent_on TEXT NOT NULL,
  leads_to TEXT NOT NULL DEFAULT ''   -- empty: it is still being worked on
) STRICT, WITHOUT ROWID;
