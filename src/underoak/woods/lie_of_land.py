"""How the land lies where a tree stands: slope, the way it faces, how moist, how far to water."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from underoak.model.ground import Terrain
from underoak.woods.geodesy import FloatArray
from underoak.woods.terrain import cell_size_m, slope_and_aspect
from underoak.woods.wetness import distance_to_water_m, wetness_index

#: How much land around is looked at [m]: water within it is known, and moistness is a rank among it.
AROUND_M = 2000.0
#: Finer grids are averaged to cells of about this size [m]: a furrow is no valley, and the work stays small.
CELL_M = 20.0
#: Slopes below this face nowhere [degrees]. Judgement.
LEVEL_DEG = 1.0
_WAYS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


@dataclass(frozen=True, slots=True)
class LieOfLand:
    """One position. ``slope_deg`` and ``aspect_deg`` as in `slope_and_aspect`, NaN where unknown.

    ``wetter_than`` is the share of the land within 2 km that is drier by its shape, 0 to 1; ``water_m`` the
    distance to where a channel may run, infinite where none is that near. ``cell_m`` is how fine the grid is.
    """

    slope_deg: float
    aspect_deg: float
    wetter_than: float
    water_m: float
    cell_m: float

    @property
    def words(self) -> str:
        """One line for a person."""
        told = []
        if self.slope_deg < LEVEL_DEG:
            told.append("level ground")
        elif np.isfinite(self.slope_deg):
            way = _WAYS[round(self.aspect_deg / 45.0) % 8]
            told.append(f"a slope of {self.slope_deg:.0f}° that faces {way}")
        told.append(f"by its shape moister than {100.0 * self.wetter_than:.0f} % of the land within 2 km")
        if self.water_m <= AROUND_M:
            near = "a channel may run here" if self.water_m < self.cell_m else self._away()
            told.append(f"{near} (springs and ditches are not known)")
        return f"{'; '.join(told)}; from a grid of {self.cell_m:.0f} m cells"

    def _away(self) -> str:
        return f"about {round(self.water_m, -1):.0f} m to where a channel may run"


def lie_of_land(terrain: Terrain, longitude_deg: float, latitude_deg: float) -> LieOfLand | None:
    """How the land lies at a position in degrees; None outside the grid and where it is unknown.

    Method
    ------
    The land within 2 km is cut out, cells finer than 20 m are averaged; then `slope_and_aspect`,
    `wetness_index` as a rank among the cells (the index itself depends on their size) and
    `distance_to_water_m`.
    """
    land = _around(terrain, longitude_deg, latitude_deg)
    row = int((land.north_deg - latitude_deg) / land.step_lat_deg)
    column = int((longitude_deg - land.west_deg) / land.step_lon_deg)
    rows, columns = land.elevation_m.shape
    outside = latitude_deg > land.north_deg or longitude_deg < land.west_deg
    if outside or row >= rows or column >= columns or not np.isfinite(land.elevation_m[row, column]):
        return None
    index = wetness_index(land)
    slope, aspect = slope_and_aspect(land)
    drier = float(np.nanmean(np.where(np.isfinite(index), index < index[row, column], np.nan)))
    return LieOfLand(
        float(slope[row, column]),
        float(aspect[row, column]),
        drier,
        float(distance_to_water_m(land)[row, column]),
        float(cell_size_m(land)[1].mean()),
    )


def _around(terrain: Terrain, longitude_deg: float, latitude_deg: float) -> Terrain:
    """The part of the grid within 2 km of a position, in cells of at least about 20 m."""
    east_m, north_m = (float(size.mean()) for size in cell_size_m(terrain))
    reach = int(AROUND_M / north_m) + 1, int(AROUND_M / east_m) + 1
    rows, columns = terrain.elevation_m.shape
    row = int((terrain.north_deg - latitude_deg) / terrain.step_lat_deg)
    column = int((longitude_deg - terrain.west_deg) / terrain.step_lon_deg)
    top, left = (
        int(np.clip(at - far, 0, end))
        for at, far, end in zip((row, column), reach, (rows, columns), strict=True)
    )
    bottom, right = (
        int(np.clip(at + far + 1, 0, end))
        for at, far, end in zip((row, column), reach, (rows, columns), strict=True)
    )
    cut = replace(
        terrain,
        west_deg=terrain.west_deg + left * terrain.step_lon_deg,
        north_deg=terrain.north_deg - top * terrain.step_lat_deg,
        elevation_m=terrain.elevation_m[top:bottom, left:right],
    )
    return _coarser(cut, max(1, round(CELL_M / min(east_m, north_m))))


def _coarser(terrain: Terrain, times: int) -> Terrain:
    """Blocks of ``times`` x ``times`` cells averaged; a rest at the southern and eastern rim falls away."""
    rows, columns = (length // times for length in terrain.elevation_m.shape)
    if times == 1 or not rows or not columns:
        return terrain
    blocks: FloatArray = terrain.elevation_m[: rows * times, : columns * times].reshape(
        rows, times, columns, times
    )
    return replace(
        terrain,
        step_lon_deg=terrain.step_lon_deg * times,
        step_lat_deg=terrain.step_lat_deg * times,
        elevation_m=blocks.mean(axis=(1, 3)),
    )
