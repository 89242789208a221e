"""The grid that spots are blurred to before anybody else sees them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from underoak.model.ground import LonLat, Place, Spot

#: Sides of the cells, km. Each cell of one size lies wholly in one cell of the next.
LADDER_KM: tuple[int, ...] = (1, 2, 4, 8, 16, 32, 64, 128)

_STEPS = len(LADDER_KM) - 1
#: Rows of the coarsest cells from pole to pole: each is at least 128 km high, for a degree of
#: latitude is nowhere shorter than 110.57 km (WGS 84).
_COARSE_ROWS = int(180.0 * 110.57 / LADDER_KM[-1])
_EQUATOR_KM = 40075.0
_LONGEST_LATITUDE_DEGREE_M = 111_700.0
_LONGEST_LONGITUDE_DEGREE_M = 111_700.0


@dataclass(frozen=True, slots=True, order=True)
class Cell:
    """One cell of the grid. ``half_diagonal_m`` is a radius round the centre that holds all of it."""

    south_deg: float
    west_deg: float
    north_deg: float
    east_deg: float
    size_km: int
    half_diagonal_m: int

    @property
    def centre(self) -> LonLat:
        """(longitude_deg, latitude_deg), to about a metre."""
        return (
            round((self.west_deg + self.east_deg) / 2, 5),
            round((self.south_deg + self.north_deg) / 2, 5),
        )

    @property
    def uncertainty_m(self) -> int:
        """Radius round the centre that holds every spot `shared_cell` puts here: half a side more."""
        return self.half_diagonal_m + self.size_km * 500


def ladder_size_km(asked_km: float) -> int:
    """The smallest side of the ladder that is no smaller than asked, at most 128 km."""
    return next((size for size in LADDER_KM if size >= asked_km), LADDER_KM[-1])


def cell_of(longitude_deg: float, latitude_deg: float, asked_km: float) -> Cell:
    """The cell of a position.

    Parameters
    ----------
    longitude_deg, latitude_deg : WGS 84
    asked_km : side, rounded up to the ladder 1, 2, 4 … 128 km

    Method
    ------
    A fixed grid over the whole Earth: rows of equal latitude, each cut into as many columns as are at
    least 128 km wide at the edge nearer the pole; every cell is halved both ways, seven times. So the
    cells of all sizes are nested, and whoever holds exports of several sizes knows the smallest cell and
    no more. Half the diagonal is measured at the longest edge.

    **Fails towards** a larger cell.
    """
    step = LADDER_KM.index(ladder_size_km(asked_km))
    fine = 2**_STEPS
    rows = _COARSE_ROWS * fine
    row = min(rows - 1, max(0, math.floor((latitude_deg + 90.0) / 180.0 * rows)))
    columns = _columns(row // fine) * fine
    column = math.floor((longitude_deg + 180.0) / 360.0 * columns) % columns
    row, column, rows, columns = row >> step, column >> step, rows >> step, columns >> step
    south, north = (180.0 * r / rows - 90.0 for r in (row, row + 1))
    west, east = (360.0 * c / columns - 180.0 for c in (column, column + 1))
    return Cell(south, west, north, east, LADDER_KM[step], _half_diagonal_m(south, north, east - west))


def _columns(coarse_row: int) -> int:
    edges = (180.0 * row / _COARSE_ROWS - 90.0 for row in (coarse_row, coarse_row + 1))
    narrow = min(math.cos(math.radians(edge)) for edge in edges)
    return max(1, int(_EQUATOR_KM * narrow / LADDER_KM[-1]))


def _half_diagonal_m(south: float, north: float, width_deg: float) -> int:
    """Rounded up to 10 m; along the straight line in (latitude, longitude) no way is longer."""
    wide = max(math.cos(math.radians(min(abs(south), abs(north)))), 1.0 if south * north < 0 else 0.0)
    across = width_deg / 2 * _LONGEST_LONGITUDE_DEGREE_M * wide
    along = (north - south) / 2 * _LONGEST_LATITUDE_DEGREE_M
    return 10 * math.ceil(math.hypot(across, along) / 10)


def shared_cell(spot: Spot, place: Place | None, asked_km: float) -> Cell:
    """The cell that stands for a spot.

    All spots of one place share the cell of the middle of its outline. Were each spot in its own cell,
    two finds of one day in neighbouring cells would tell that both lie near the common edge. A spot may
    lie beyond the edge of its place's cell by up to half a side, so the stated uncertainty has half a side
    more for everybody. A spot farther than that from the middle, or without an outline, stands in its own
    cell.

    **Fails towards** a larger uncertainty.
    """
    half_side_m = ladder_size_km(asked_km) * 500
    own = cell_of(spot.longitude_deg, spot.latitude_deg, asked_km)
    middle = _middle(place)
    if middle is None or _apart_m(middle, (spot.longitude_deg, spot.latitude_deg)) > half_side_m:
        return own
    return cell_of(*middle, asked_km)


def _middle(place: Place | None) -> LonLat | None:
    """Middle of the box round a place's outline."""
    points = [point for rings in place.polygons for ring in rings for point in ring] if place else []
    if not points:
        return None
    lons, lats = [p[0] for p in points], [p[1] for p in points]
    return (min(lons) + max(lons)) / 2, (min(lats) + max(lats)) / 2


def _apart_m(a: LonLat, b: LonLat) -> float:
    """No less than the distance in metres, for places of the size of a park."""
    across = abs(a[0] - b[0]) * _LONGEST_LONGITUDE_DEGREE_M
    across *= max(math.cos(math.radians(a[1])), math.cos(math.radians(b[1])))
    return math.hypot(across, (a[1] - b[1]) * _LONGEST_LATITUDE_DEGREE_M)
