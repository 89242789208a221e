"""Tables of trees: which column holds what, and the tree of each row."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from underoak.errors import BadData
from underoak.intake import tree_names
from underoak.intake.coordinates import position_problem
from underoak.intake.table import Row, Table, number, plain_header
from underoak.intake.trunk import DIAMETER_NAMES, Trunk, trunk_column
from underoak.model.ground import LonLat, Tree
from underoak.model.problem import Problem

EXPECTED = "a table of trees with latitude, longitude, species and, if known, diameter (dbh_cm or dbh_in)"
FIELDS = ("latitude", "longitude", "species", "condition", "diameter")


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


class TreeTable:
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
        self.lat = self._pick(
            "latitude", ("y", *tree_names.LATITUDE) if grid else tree_names.LATITUDE, needed=True
        )
        self.lon = self._pick(
            "longitude", ("x", *tree_names.LONGITUDE) if grid else tree_names.LONGITUDE, needed=True
        )
        self.species = self._pick("species", tree_names.SPECIES, needed=True)
        self.condition = self._pick("condition", tree_names.CONDITION, needed=False)
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
            self._missing.append(Problem(what, f"{self._table.file}, header", EXPECTED, listed))
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
        """What was taken from where, for a person."""
        trunk = self.trunk.words if self.trunk else "none"
        return (
            f"latitude from {self.lat!r}, longitude from {self.lon!r}, species from {self.species!r}, "
            f"diameter: {trunk}, condition from {self.condition!r}"
        )

    def tree(self, row: Row) -> Tree | Problem:
        """The tree of one row, without its id, or its problem."""
        position = self._position(row)
        if isinstance(position, Problem):
            return position
        diameter = self.trunk.diameter_cm(row) if self.trunk else None
        if isinstance(diameter, Problem):
            return diameter
        species = row.text(self.species)
        return tree_names.tree_of(
            position, species, diameter, tree_names.condition_of(row.text(self.condition))
        )

    def _position(self, row: Row) -> LonLat | Problem:
        x, y = number(row.text(self.lon)), number(row.text(self.lat))
        if x is None or y is None:
            what = f"position ({row.text(self.lat)!r}, {row.text(self.lon)!r}) is no pair of numbers"
            return Problem(what, row.where, "latitude and longitude in degrees")
        if self.grid is not None:
            x, y = self.grid.to_degrees(x, y)
        return position_problem(x, y, row.where, self.home) or (x, y)
