"""Places, permission, trails, trees, spots and terrain: the ground that is walked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

PermissionStatus = Literal["allowed", "forbidden", "unknown"]
TreeCondition = Literal["living", "dead", "stump", "unknown"]

#: (longitude_deg, latitude_deg), WGS 84, in the order GeoJSON (RFC 7946) uses.
LonLat = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Permission:
    """Who allows what at a place, from where this is known, and until when.

    ``season`` is an inclusive pair of (month, day); None means the whole year.
    """

    status: PermissionStatus
    who: str = ""
    limit_kg_person_day: float | None = None
    season: tuple[tuple[int, int], tuple[int, int]] | None = None
    source: str = ""
    checked_on: date | None = None
    expires_on: date | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Place:
    """A park or wood: outer rings with holes, each polygon a tuple of closed rings."""

    id: str
    name: str
    polygons: tuple[tuple[tuple[LonLat, ...], ...], ...]
    permission: Permission


@dataclass(frozen=True, slots=True)
class Trail:
    """One way that can be walked, as a line; ``elevations_m`` is empty or as long as ``points``."""

    id: str
    name: str
    points: tuple[LonLat, ...]
    elevations_m: tuple[float, ...] = ()
    surface: str = ""
    oneway: bool = False
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Tree:
    """One inventoried or noted tree. ``host_group`` is a key of the book's hosts, or "unknown"."""

    id: str
    longitude_deg: float
    latitude_deg: float
    species_text: str
    host_group: str
    diameter_cm: float | None = None
    condition: TreeCondition = "unknown"


@dataclass(frozen=True, slots=True)
class HostPatch:
    """An area with so many stems of a host group, where no tree is mapped on its own.

    From a forest-type map, or from a note on the way ("old oaks along here"). ``stems_ha`` is host stems
    on one hectare. ``polygons`` are rings as in `Place`.
    """

    id: str
    name: str
    polygons: tuple[tuple[tuple[LonLat, ...], ...], ...]
    host_group: str
    stems_ha: float


@dataclass(frozen=True, slots=True)
class Spot:
    """A tree, log or patch the household knows by name."""

    id: str
    place_id: str
    name: str
    longitude_deg: float
    latitude_deg: float
    host_group: str = "unknown"
    diameter_cm: float | None = None
    tree_id: str | None = None
    withheld: bool = False


@dataclass(frozen=True, slots=True)
class CarPark:
    """Where a walk may start and end."""

    id: str
    name: str
    longitude_deg: float
    latitude_deg: float


@dataclass(frozen=True, slots=True)
class Terrain:
    """An elevation grid, row 0 northernmost, in longitude and latitude (WGS 84).

    ``elevation_m`` has shape (rows, columns), NaN where unknown; values are cell centres.
    ``west_deg`` and ``north_deg`` are the outer edges of the first column and row.
    """

    id: str
    name: str
    west_deg: float
    north_deg: float
    step_lon_deg: float
    step_lat_deg: float
    elevation_m: npt.NDArray[np.float64]
