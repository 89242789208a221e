"""Trees from inventories: tables with a column map, or GeoJSON points."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from underoak.book.hosts import match_host
from underoak.errors import BadData
from underoak.intake.coordinates import position_problem
from underoak.intake.geojson import read_features
from underoak.intake.reading import Reading
from underoak.intake.stable_id import stable_id
from underoak.intake.table import Row, Table, number, plain_header, read_table, told
from underoak.intake.trunk import DIAMETER_NAMES, Trunk, trunk_column
from underoak.model.ground import LonLat, Tree, TreeCondition
from underoak.model.problem import Problem

_EXPECTED = "a table of trees with latitude, longitude, species and, if known, diameter (dbh_cm or dbh_in)"
FIELDS = ("latitude", "longitude", "species", "condition", "diameter")
LATITUDE = ("latitude", "latitude_deg", "lat", "decimallatitude", "point_y", "y_coord", "y")
LONGITUDE = (
    "longitude",
    "longitude_deg",
    "lon",
    "lng",
    "long",
    "decimallongitude",
    "point_x",
    "x_coord",
    "x",
)
SPECIES = (
    "species",
    "scientific_name",
    "scientificname",
    "latin_name",
    "spc_latin",
    "botanical_name",
    "taxon",
    "common_name",
    "spc_common",
    "species_common",
    "tree_species",
    "genus",
    "spp",
    "marks",
)
CONDITION = ("condition", "status", "tree_status", "health", "tree_condition")
_CONDITION_WORDS: tuple[tuple[TreeCondition, tuple[str, ...]], ...] = (
    ("stump", ("stump", "felled", "cut", "removed")),
    ("dead", ("dead", "snag", "standing dead")),
    ("living", ("alive", "living", "live", "good", "fair", "poor", "excellent", "critical", "healthy")),
)


@dataclass(frozen=True, slots=True)
class LocalGrid:
    """Where a table of mapped trees has its own x and y: origin in degrees, and metres for one unit."""

    origin: LonLat
    unit_m: float = 1.0

    def to_degrees(self, x: float, y: float) -> LonLat:
        """Longitude and latitude of a point of the grid (azimuthal equidistant around the origin)."""
        lon, lat = _azimuthal(self.origin)(x * self.unit_m, y * self.unit_m, inverse=True)
        return float(lon), float(lat)


@cache
def _azimuthal(origin: LonLat) -> Any:
    from pyproj import Proj

    return Proj(proj="aeqd", lon_0=origin[0], lat_0=origin[1], ellps="WGS84")


def read_trees(
    path: Path,
    *,
    columns: Mapping[str, str] | None = None,
    diameter_unit: str | None = None,
    grid: LocalGrid | None = None,
    home: LonLat | None = None,
) -> Reading[tuple[Tree, ...]]:
    """Trees of a CSV, TSV or GeoJSON file.

    Parameters
    ----------
    path : a table, or GeoJSON points when its name ends in .geojson or .json
    columns : our field (latitude, longitude, species, condition, diameter, or with its unit diameter_in,
        girth_cm, …) -> header in the file, for headers that are not recognised
    diameter_unit : mm, cm, m, in or ft, where the header does not carry it
    grid : for tables whose x and y are a local grid, x towards east and y towards north
    home : (longitude, latitude) of the household, to tell swapped coordinates

    Returns
    -------
    Reading with Tree records. Species text is matched to host groups; text that matches none is kept and
    counts as unknown. A diameter of 0 or an empty cell means not measured.

    Raises
    ------
    BadData   when the file as a whole cannot be read or a needed column is missing
    """
    if path.suffix.lower() in (".geojson", ".json"):
        return _from_geojson(path, diameter_unit, home)
    table = read_table(path, expected=_EXPECTED)
    reader = _TreeTable(table, columns or {}, diameter_unit, grid, home)
    found = [reader.tree(row) for row in table.rows]
    problems = [*table.problems, *(p for p in found if isinstance(p, Problem))]
    trees = _numbered(t for t in found if isinstance(t, Tree))
    return Reading(trees, told(problems, path.name), _understood(trees, reader.columns_used()))


class _TreeTable:
    """Knows which column holds what, and makes a tree of each row."""

    def __init__(
        self,
        table: Table,
        columns: Mapping[str, str],
        unit: str | None,
        grid: LocalGrid | None,
        home: LonLat | None,
    ) -> None:
        self.grid, self.home = grid, home
        self._table, self._columns = table, {plain_header(field): header for field, header in columns.items()}
        self._missing: list[Problem] = []
        self.lat = self._pick("latitude", ("y", *LATITUDE) if grid else LATITUDE, needed=True)
        self.lon = self._pick("longitude", ("x", *LONGITUDE) if grid else LONGITUDE, needed=True)
        self.species = self._pick("species", SPECIES, needed=True)
        self.condition = self._pick("condition", CONDITION, needed=False)
        self.trunk = self._trunk(unit)
        strange = sorted(
            field for field in self._columns if field not in FIELDS and not DIAMETER_NAMES.match(field)
        )
        if strange:
            expected = f"one of {', '.join(FIELDS)}, diameter_in, girth_cm, …"
            self._missing.append(Problem(f"no tree has a {strange[0]!r}", "column map", expected))
        if self._missing:
            raise BadData(self._missing)

    def _pick(self, field: str, names: Sequence[str], *, needed: bool) -> str | None:
        wanted = plain_header(self._columns[field]) if field in self._columns else None
        column = self._table.column(wanted) if wanted else self._table.column(*names)
        if column is None and (needed or wanted):
            what = f"there is no column {self._columns.get(field, field)!r}"
            listed = f"the columns are: {', '.join(self._table.headers[:30])}"
            self._missing.append(Problem(what, f"{self._table.file}, header", _EXPECTED, listed))
        return column

    def _trunk(self, unit: str | None) -> Trunk | None:
        """The trunk column: a mapped one (perhaps with its unit: "diameter_in"), else a known header."""
        field = next((name for name in self._columns if DIAMETER_NAMES.match(name)), "diameter")
        column = self._pick(field, [h for h in self._table.headers if DIAMETER_NAMES.match(h)], needed=False)
        if column is None:
            return None
        stated = trunk_column(field, None, "") if field in self._columns else None
        if isinstance(stated, Trunk):
            return Trunk(column, stated.unit, stated.girth)
        trunk = trunk_column(column, unit, f"{self._table.file}, header")
        if isinstance(trunk, Problem):
            self._missing.append(trunk)
            return None
        return trunk

    def columns_used(self) -> str:
        trunk = self.trunk.words if self.trunk else "none"
        return (
            f"latitude from {self.lat!r}, longitude from {self.lon!r}, species from {self.species!r}, "
            f"diameter: {trunk}, condition from {self.condition!r}"
        )

    def tree(self, row: Row) -> Tree | Problem:
        position = self._position(row)
        if isinstance(position, Problem):
            return position
        diameter = self.trunk.diameter_cm(row) if self.trunk else None
        if isinstance(diameter, Problem):
            return diameter
        species = row.text(self.species)
        return _tree(position, species, diameter, _condition(row.text(self.condition)))

    def _position(self, row: Row) -> LonLat | Problem:
        x, y = number(row.text(self.lon)), number(row.text(self.lat))
        if x is None or y is None:
            what = f"position ({row.text(self.lat)!r}, {row.text(self.lon)!r}) is no pair of numbers"
            return Problem(what, row.where, "latitude and longitude in degrees")
        if self.grid is not None:
            x, y = self.grid.to_degrees(x, y)
        return position_problem(x, y, row.where, self.home) or (x, y)


def _from_geojson(path: Path, unit: str | None, home: LonLat | None) -> Reading[tuple[Tree, ...]]:
    features = read_features(path, home=home)
    problems, trees = list(features.problems), []
    skipped = 0
    for feature in features.records:
        if feature.geometry != "Point":
            skipped += 1
            continue
        cells = {plain_header(k): "" if v is None else str(v) for k, v in feature.properties.items()}
        row = Row(feature.number, feature.where, cells)
        species = next((row.text(name) for name in SPECIES if row.text(name)), "")
        header = next((h for h in cells if DIAMETER_NAMES.match(h)), None)
        trunk = trunk_column(header, unit, feature.where) if header else None
        diameter = trunk.diameter_cm(row) if isinstance(trunk, Trunk) else trunk
        if isinstance(diameter, Problem):
            problems.append(diameter)
            continue
        condition = next((row.text(name) for name in CONDITION if row.text(name)), "")
        trees.append(_tree(feature.coordinates, species, diameter, _condition(condition)))
    note = f"{skipped} feature(s) that are no points left aside" if skipped else "GeoJSON points"
    records = _numbered(trees)
    return Reading(records, told(problems, path.name), _understood(records, note))


def _tree(position: LonLat, species: str, diameter_cm: float | None, condition: TreeCondition) -> Tree:
    return Tree("", position[0], position[1], species, match_host(species), diameter_cm, condition)


def _condition(text: str) -> TreeCondition:
    words = text.casefold().replace("_", " ").split()
    return next(
        (condition for condition, known in _CONDITION_WORDS if any(word in known for word in words)),
        "unknown",
    )


def _numbered(trees: Iterable[Tree]) -> tuple[Tree, ...]:
    """Give each tree its id, from position and species; stems on one point are counted through."""
    seen: Counter[str] = Counter()
    numbered = []
    for t in trees:
        key = stable_id(
            "tree", round(t.longitude_deg, 7), round(t.latitude_deg, 7), t.species_text.casefold()
        )
        seen[key] += 1
        own = key if seen[key] == 1 else f"{key}-{seen[key]}"
        numbered.append(
            Tree(
                own, t.longitude_deg, t.latitude_deg, t.species_text, t.host_group, t.diameter_cm, t.condition
            )
        )
    return tuple(numbered)


def _understood(trees: Sequence[Tree], columns: str) -> tuple[str, ...]:
    groups = Counter(tree.host_group for tree in trees)
    unknown = Counter(t.species_text for t in trees if t.host_group == "unknown")
    measured = sum(tree.diameter_cm is not None for tree in trees)
    lines = [
        f"{len(trees)} tree(s), {measured} with a diameter",
        columns,
        "host groups: " + ", ".join(f"{group} {count}" for group, count in groups.most_common()),
    ]
    if unknown:
        named = ", ".join(f"{text or '(empty)'!s} {count}" for text, count in unknown.most_common(8))
        lines.append(f"species not recognised, kept as unknown: {named}")
    return tuple(lines)
