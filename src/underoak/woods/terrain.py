"""Elevation, slope and aspect from an elevation grid."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from underoak.model.ground import LonLat, Terrain
from underoak.woods.geodesy import FloatArray, metres_per_degree


def elevation_at(terrain: Terrain, lon: npt.ArrayLike, lat: npt.ArrayLike) -> FloatArray:
    """Elevation at positions.

    Parameters
    ----------
    terrain : the grid
    lon, lat : [degrees], scalars or arrays of one shape

    Returns
    -------
    [m], same shape; NaN outside the grid and where a cell that counts is unknown

    Method
    ------
    Bilinear between the four nearest cell centres; within half a cell of the rim the rim's centres count.
    """
    grid = terrain.elevation_m
    rows, columns = grid.shape
    lon_, lat_ = np.broadcast_arrays(np.asarray(lon, dtype=np.float64), np.asarray(lat, dtype=np.float64))
    x = (lon_ - terrain.west_deg) / terrain.step_lon_deg - 0.5
    y = (terrain.north_deg - lat_) / terrain.step_lat_deg - 0.5
    inside = (x >= -0.5) & (x <= columns - 0.5) & (y >= -0.5) & (y <= rows - 0.5)
    x, y = np.clip(np.nan_to_num(x), 0, columns - 1), np.clip(np.nan_to_num(y), 0, rows - 1)
    column, row = np.minimum(x.astype(int), max(columns - 2, 0)), np.minimum(y.astype(int), max(rows - 2, 0))
    right, below = np.minimum(column + 1, columns - 1), np.minimum(row + 1, rows - 1)
    fx, fy = x - column, y - row
    total = np.zeros(x.shape)
    for r, c, weight in (
        (row, column, (1 - fx) * (1 - fy)),
        (row, right, fx * (1 - fy)),
        (below, column, (1 - fx) * fy),
        (below, right, fx * fy),
    ):
        total = total + np.where(weight > 0.0, weight * grid[r, c], 0.0)
    return np.where(inside, total, np.nan)


def horn_gradient(
    elevation_m: FloatArray, dx_m: npt.ArrayLike, dy_m: npt.ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Rise per metre towards east and towards north.

    Parameters
    ----------
    elevation_m : [m], shape (rows, columns), row 0 northernmost
    dx_m, dy_m : cell size [m], scalar or one for each row, shape (rows, 1)

    Returns
    -------
    (east, north) : shape (rows, columns); NaN on the rim and next to unknown cells

    Method
    ------
    Third-order finite difference over 3 x 3 cells with weights 1 2 1:
    east = ((c + 2f + i) - (a + 2d + g)) / (8 dx), north = ((a + 2b + c) - (g + 2h + i)) / (8 dy),
    cells named a b c / d e f / g h i from the north-west. Source: Horn 1981 (from memory).
    """
    z = elevation_m
    east, north = np.full(z.shape, np.nan), np.full(z.shape, np.nan)
    if min(z.shape) < 3:
        return east, north
    a, b, c = z[:-2, :-2], z[:-2, 1:-1], z[:-2, 2:]
    d, f = z[1:-1, :-2], z[1:-1, 2:]
    g, h, i = z[2:, :-2], z[2:, 1:-1], z[2:, 2:]
    dx, dy = (
        np.broadcast_to(np.asarray(size, dtype=np.float64), (z.shape[0], 1))[1:-1] for size in (dx_m, dy_m)
    )
    east[1:-1, 1:-1] = ((c + 2 * f + i) - (a + 2 * d + g)) / (8 * dx)
    north[1:-1, 1:-1] = ((a + 2 * b + c) - (g + 2 * h + i)) / (8 * dy)
    return east, north


def cell_size_m(terrain: Terrain) -> tuple[FloatArray, FloatArray]:
    """Width and height of the cells of each row [m], shape (rows, 1)."""
    row = np.arange(terrain.elevation_m.shape[0])
    east_m, north_m = metres_per_degree(terrain.north_deg - (row + 0.5) * terrain.step_lat_deg)
    return (east_m * terrain.step_lon_deg)[:, None], (north_m * terrain.step_lat_deg)[:, None]


def slope_and_aspect(terrain: Terrain) -> tuple[FloatArray, FloatArray]:
    """Steepness and the direction water runs off.

    Returns
    -------
    (slope_deg, aspect_deg) : shape of the grid. Slope 0 to 90 [degrees]; aspect clockwise from north,
    0 to 360 [degrees], NaN where it is level; both NaN on the rim and next to unknown cells.

    Method
    ------
    `horn_gradient` with the cell size in metres at each row's latitude; slope = arctan of its length.
    Checked against xarray-spatial.
    """
    east, north = horn_gradient(terrain.elevation_m, *cell_size_m(terrain))
    steep = np.hypot(east, north)
    aspect = np.where(steep > 0.0, np.degrees(np.arctan2(-east, -north)) % 360.0, np.nan)
    return np.degrees(np.arctan(steep)), aspect


def terrain_for(terrains: Sequence[Terrain], points: Sequence[LonLat]) -> Terrain | None:
    """The grid that knows most of the positions (degrees); among equals the finest. None when none does."""
    if not points:
        return None
    lon, lat = np.asarray(points, dtype=np.float64).T
    known = [(int(np.isfinite(elevation_at(t, lon, lat)).sum()), -t.step_lat_deg) for t in terrains]
    best = max(range(len(known)), key=lambda i: known[i], default=None)
    return terrains[best] if best is not None and known[best][0] else None
