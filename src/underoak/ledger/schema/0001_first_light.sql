-- The household's record. Days are ISO text, quantities carry their unit in the name,
-- ids are stable text so that two ledgers can be joined later. Lists and documents are JSON text.

CREATE TABLE source_file (
  id TEXT PRIMARY KEY,                -- sha256 of the bytes and the kind
  kind TEXT NOT NULL,
  name TEXT NOT NULL,
  loaded_on TEXT NOT NULL,
  records INTEGER NOT NULL CHECK (records >= 0),
  partial INTEGER NOT NULL DEFAULT 0 CHECK (partial IN (0, 1))
) STRICT;

CREATE TABLE station (
  id TEXT PRIMARY KEY,
  name TEXT NOT NULL,
  latitude_deg REAL CHECK (latitude_deg BETWEEN -90 AND 90),
  longitude_deg REAL CHECK (longitude_deg BETWEEN -180 AND 180),
  elevation_m REAL
) STRICT;

CREATE TABLE weather_day (
  station_id TEXT NOT NULL REFERENCES station (id),
  day TEXT NOT NULL,
  forecast INTEGER NOT NULL CHECK (forecast IN (0, 1)),
  rain_mm REAL CHECK (rain_mm >= 0),
  tmin_c REAL,
  tmax_c REAL,
  dewpoint_c REAL,
  wind_m_s REAL CHECK (wind_m_s >= 0),
  radiation_mj_m2 REAL CHECK (radiation_mj_m2 >= 0),
  PRIMARY KEY (station_id, day, forecast)
) STRICT, WITHOUT ROWID;

CREATE TABLE place (
  id TEXT PRIMARY KEY,
  name TEXT NOT NULL,
  polygons TEXT NOT NULL CHECK (json_valid(polygons)),
  permission_status TEXT NOT NULL CHECK (permission_status IN ('allowed', 'forbidden', 'unknown')),
  permission_who TEXT NOT NULL DEFAULT '',
  limit_kg_person_day REAL CHECK (limit_kg_person_day >= 0),
  season_start TEXT,                  -- MM-DD, inclusive
  season_end TEXT,
  permission_source TEXT NOT NULL DEFAULT '',
  permission_checked_on TEXT,
  permission_expires_on TEXT,
  permission_note TEXT NOT NULL DEFAULT ''
) STRICT;

CREATE TABLE car_park (
  id TEXT PRIMARY KEY,
  name TEXT NOT NULL,
  longitude_deg REAL NOT NULL CHECK (longitude_deg BETWEEN -180 AND 180),
  latitude_deg REAL NOT NULL CHECK (latitude_deg BETWEEN -90 AND 90)
) STRICT;

CREATE TABLE trail (
  id TEXT PRIMARY KEY,
  name TEXT NOT NULL,
  points TEXT NOT NULL CHECK (json_valid(points)),
  elevations_m TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(elevations_m)),
  surface TEXT NOT NULL DEFAULT '',
  oneway INTEGER NOT NULL DEFAULT 0 CHECK (oneway IN (0, 1)),
  closed INTEGER NOT NULL DEFAULT 0 CHECK (closed IN (0, 1))
) STRICT;

CREATE TABLE tree (
  id TEXT PRIMARY KEY,
  longitude_deg REAL NOT NULL CHECK (longitude_deg BETWEEN -180 AND 180),
  latitude_deg REAL NOT NULL CHECK (latitude_deg BETWEEN -90 AND 90),
  species_text TEXT NOT NULL,
  host_group TEXT NOT NULL,
  diameter_cm REAL CHECK (diameter_cm > 0),
  condition TEXT NOT NULL CHECK (condition IN ('living', 'dead', 'stump', 'unknown'))
) STRICT;

CREATE TABLE terrain (
  id TEXT PRIMARY KEY,
  name TEXT NOT NULL,
  west_deg REAL NOT NULL,
  north_deg REAL NOT NULL,
  step_lon_deg REAL NOT NULL CHECK (step_lon_deg > 0),
  step_lat_deg REAL NOT NULL CHECK (step_lat_deg > 0),
  rows INTEGER NOT NULL CHECK (rows > 0),
  columns INTEGER NOT NULL CHECK (columns > 0),
  elevation_m BLOB NOT NULL           -- zlib-packed little-endian float32, row 0 northernmost
) STRICT;

CREATE TABLE spot (
  id TEXT PRIMARY KEY,
  place_id TEXT NOT NULL REFERENCES place (id),
  name TEXT NOT NULL,
  longitude_deg REAL NOT NULL CHECK (longitude_deg BETWEEN -180 AND 180),
  latitude_deg REAL NOT NULL CHECK (latitude_deg BETWEEN -90 AND 90),
  host_group TEXT NOT NULL DEFAULT 'unknown',
  diameter_cm REAL CHECK (diameter_cm > 0),
  tree_id TEXT REFERENCES tree (id),
  withheld INTEGER NOT NULL DEFAULT 0 CHECK (withheld IN (0, 1)),
  UNIQUE (place_id, name)
) STRICT;

CREATE TABLE visit (
  id TEXT PRIMARY KEY,
  day TEXT NOT NULL,
  place_id TEXT NOT NULL REFERENCES place (id),
  minutes REAL CHECK (minutes >= 0),
  people TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(people)),
  note TEXT NOT NULL DEFAULT ''
) STRICT;

CREATE TABLE search (
  visit_id TEXT NOT NULL REFERENCES visit (id),
  spot_id TEXT NOT NULL REFERENCES spot (id),
  thoroughness REAL NOT NULL CHECK (thoroughness BETWEEN 0 AND 1),
  PRIMARY KEY (visit_id, spot_id)
) STRICT, WITHOUT ROWID;

CREATE TABLE find (
  id TEXT PRIMARY KEY,
  visit_id TEXT NOT NULL REFERENCES visit (id),
  spot_id TEXT NOT NULL REFERENCES spot (id),
  taxon_id TEXT NOT NULL,
  stage TEXT NOT NULL CHECK (stage IN ('young', 'prime', 'past')),
  bodies INTEGER CHECK (bodies > 0),
  fresh_g REAL CHECK (fresh_g > 0),
  note TEXT NOT NULL DEFAULT ''
) STRICT;

CREATE TABLE report (
  id TEXT PRIMARY KEY,
  day TEXT NOT NULL,
  scientific_name TEXT NOT NULL,
  taxon_id TEXT,
  longitude_deg REAL CHECK (longitude_deg BETWEEN -180 AND 180),
  latitude_deg REAL CHECK (latitude_deg BETWEEN -90 AND 90),
  uncertainty_m REAL CHECK (uncertainty_m >= 0),
  present INTEGER NOT NULL CHECK (present IN (0, 1)),
  source TEXT NOT NULL DEFAULT ''
) STRICT;

-- Verdicts are append-only: what was known and said then stays as it was.
CREATE TABLE verdict (
  id TEXT PRIMARY KEY,
  find_id TEXT NOT NULL REFERENCES find (id),
  taxon_id TEXT NOT NULL,
  state TEXT NOT NULL CHECK (state IN ('refused', 'open', 'consistent', 'confirmed')),
  bodies INTEGER NOT NULL CHECK (bodies > 0),
  given_on TEXT NOT NULL,
  book_version TEXT NOT NULL,
  observations TEXT NOT NULL CHECK (json_valid(observations)),
  answer TEXT NOT NULL CHECK (json_valid(answer)),
  confirmed_by TEXT
) STRICT;

CREATE TRIGGER verdict_is_never_changed BEFORE UPDATE ON verdict
BEGIN SELECT RAISE (ABORT, 'verdicts are append-only'); END;
CREATE TRIGGER verdict_is_never_deleted BEFORE DELETE ON verdict
BEGIN SELECT RAISE (ABORT, 'verdicts are append-only'); END;

CREATE TABLE lot (
  id TEXT PRIMARY KEY,
  find_id TEXT NOT NULL REFERENCES find (id),
  taxon_id TEXT NOT NULL,
  verdict_id TEXT REFERENCES verdict (id),
  fresh_g REAL NOT NULL CHECK (fresh_g > 0),
  picked_on TEXT NOT NULL
) STRICT;

CREATE TABLE batch (
  id TEXT PRIMARY KEY,
  method_id TEXT NOT NULL,
  made_on TEXT NOT NULL,
  book_version TEXT NOT NULL,
  document TEXT NOT NULL DEFAULT '{}' CHECK (json_valid(document))
) STRICT;

CREATE TABLE batch_lot (
  batch_id TEXT NOT NULL REFERENCES batch (id),
  lot_id TEXT NOT NULL REFERENCES lot (id),
  fresh_g REAL NOT NULL CHECK (fresh_g > 0),
  PRIMARY KEY (batch_id, lot_id)
) STRICT, WITHOUT ROWID;

CREATE TABLE jar (
  id TEXT PRIMARY KEY,
  batch_id TEXT NOT NULL REFERENCES batch (id),
  code TEXT NOT NULL UNIQUE,
  container TEXT NOT NULL,
  net_g REAL NOT NULL CHECK (net_g > 0),
  made_on TEXT NOT NULL,
  use_by TEXT,
  state TEXT NOT NULL DEFAULT 'kept' CHECK (state IN ('kept', 'eaten', 'given', 'thrown')),
  state_on TEXT,
  cautions TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(cautions))
) STRICT;

-- What the program answered, with the inputs and the book that made the answer.
CREATE TABLE answer (
  id TEXT PRIMARY KEY,
  kind TEXT NOT NULL CHECK (kind IN ('week', 'walk', 'kitchen')),
  made_on TEXT NOT NULL,
  for_day TEXT NOT NULL,
  book_version TEXT NOT NULL,
  inputs TEXT NOT NULL CHECK (json_valid(inputs)),
  document TEXT NOT NULL CHECK (json_valid(document))
) STRICT;

CREATE INDEX visit_by_day ON visit (day);
CREATE INDEX find_by_visit ON find (visit_id);
CREATE INDEX find_by_spot ON find (spot_id);
CREATE INDEX verdict_by_find ON verdict (find_id);
CREATE INDEX lot_by_find ON lot (find_id);
CREATE INDEX batch_by_lot ON batch_lot (lot_id);
CREATE INDEX jar_by_batch ON jar (batch_id);
CREATE INDEX report_by_day ON report (day);
