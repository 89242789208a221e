-- Where no tree is mapped on its own: areas with so many host stems on a hectare.
CREATE TABLE host_patch (
  id TEXT PRIMARY KEY,
  name TEXT NOT NULL,
  polygons TEXT NOT NULL CHECK (json_valid(polygons)),
  host_group TEXT NOT NULL,
  stems_ha REAL NOT NULL CHECK (stems_ha > 0)
) STRICT;
