"""Where the ground stays moist: topographic wetness, and how far it is to water."""

from __future__ import annotations

import heapq
from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from underoak.model.ground import Terrain
from underoak.woods.geodesy import FloatArray
from underoak.woods.terrain import cell_size_m

#: A channel with water begins where so much land drains through one cell [m2]. Judgement: 0.2 km2 in moist
#: temperate woods; it differs widely with rock and season.
CHANNEL_M2 = 200_000.0
#: Slopes below this count as this [m/m], so that flats have a finite index. Common practice, no source.
LEAST_SLOPE = 0.001
_NEIGHBOURS = ((-1, -1), (-1, 0), (-1, 1), (0, -1), (0, 1), (1, -1), (1, 0), (1, 1))


def wetness_index(terrain: Terrain) -> FloatArray:
    """Topographic wetness index ln(a / tan b), shape of the grid; NaN where the height is unknown.

    Method
    ------
    a: upslope area for one metre of contour, `upslope_area_m2` over the mean cell width [m]; tan b: slope
    to the cell it drains to, at least 0.001. Source: Beven & Kirkby 1979 (from memory); steepest-descent
    routing after O'Callaghan & Mark 1984 (from memory). About 4 on ridges, above 10 in valley bottoms;
    it ranks cells of one grid and cannot be compared between grids of different cells.
    """
    order, target, drop = _drainage(terrain)
    area = _accumulated(terrain, order, target)
    width = float(np.mean([size.mean() for size in cell_size_m(terrain)]))
    index = np.log(area / width / np.maximum(drop, LEAST_SLOPE))
    return np.where(np.isfinite(terrain.elevation_m), index, np.nan)


def upslope_area_m2(terrain: Terrain) -> FloatArray:
    """Land that drains through each cell, its own included [m2]; NaN where the height is unknown.

    Method: hollows are filled to their rim, each cell drains to its steepest lower neighbour of eight.
    """
    order, target, _ = _drainage(terrain)
    area = _accumulated(terrain, order, target)
    return np.where(np.isfinite(terrain.elevation_m), area, np.nan)


def distance_to_water_m(terrain: Terrain, channel_m2: float = CHANNEL_M2) -> FloatArray:
    """Distance from each cell to the nearest cell where a channel may run [m]; infinite without any.

    Parameters
    ----------
    terrain : the grid
    channel_m2 : a channel begins at this upslope area [m2]

    Notes
    -----
    Computed from the shape of the land only: springs, ditches and dry channels are not known.
    """
    from scipy.ndimage import distance_transform_edt

    wet = np.nan_to_num(upslope_area_m2(terrain)) >= channel_m2
    if not wet.any():
        return np.full(wet.shape, np.inf)
    dx, dy = cell_size_m(terrain)
    away: FloatArray = distance_transform_edt(~wet, sampling=(float(dy.mean()), float(dx.mean())))
    return away


def _drainage(terrain: Terrain) -> tuple[list[int], npt.NDArray[np.int64], FloatArray]:
    """Cells from low to high as flooded from the rim, the cell each drains to (-1: off the grid), its slope.

    Method: flood from the outlets (the rim and cells beside unknown ones) in the order of height; a cell
    drains to its steepest lower neighbour, in filled hollows to the neighbour it was flooded from.
    """
    z = terrain.elevation_m
    rows, columns = z.shape
    dx, dy = (size.ravel() for size in cell_size_m(terrain))
    filled = z.copy()
    target = np.full(z.size, -1, dtype=np.int64)
    done = ~np.isfinite(z).ravel()
    heap: list[tuple[float, int]] = [(float(z[r, c]), r * columns + c) for r, c in _outlets(z)]
    for _, cell in heap:
        done[cell] = True
    heapq.heapify(heap)
    order: list[int] = []
    while heap:
        height, cell = heapq.heappop(heap)
        order.append(cell)
        row, column = divmod(cell, columns)
        for r, c in _around(row, column, rows, columns):
            near = r * columns + c
            if not done[near]:
                done[near] = True
                target[near] = cell
                filled[r, c] = max(float(z[r, c]), height)
                heapq.heappush(heap, (float(filled[r, c]), near))
    drop = _steepest(filled, dx, dy, target)
    return order, target, drop


def _outlets(z: FloatArray) -> Iterator[tuple[int, int]]:
    known = np.isfinite(z)
    inner = np.zeros_like(known)
    inner[1:-1, 1:-1] = np.logical_and.reduce(
        [known[1 + r : known.shape[0] - 1 + r, 1 + c : known.shape[1] - 1 + c] for r, c in _NEIGHBOURS]
    )
    yield from ((int(r), int(c)) for r, c in np.argwhere(known & ~inner))


def _around(r: int, c: int, rows: int, columns: int) -> Iterator[tuple[int, int]]:
    for dr, dc in _NEIGHBOURS:
        if 0 <= r + dr < rows and 0 <= c + dc < columns:
            yield r + dr, c + dc


def _steepest(
    filled: FloatArray, dx: FloatArray, dy: FloatArray, target: npt.NDArray[np.int64]
) -> FloatArray:
    """Slope to the steepest lower neighbour; ``target`` is turned towards it where there is one.

    Beyond the rim the land goes on as it came: water leaves the grid there, and does not run along its rim.
    """
    rows, columns = filled.shape
    best = np.zeros(filled.shape)
    goal = target.reshape(filled.shape)
    number = np.arange(filled.size).reshape(filled.shape)
    padded = _continued(filled)
    numbers = np.pad(number, 1, constant_values=-1)
    for dr, dc in _NEIGHBOURS:
        near = padded[1 + dr : 1 + dr + rows, 1 + dc : 1 + dc + columns]
        step = np.hypot(dr * dy, dc * dx)[:, None]
        fall = (filled - near) / step
        steeper = np.isfinite(fall) & (fall > best)
        best = np.where(steeper, fall, best)
        goal[...] = np.where(steeper, numbers[1 + dr : 1 + dr + rows, 1 + dc : 1 + dc + columns], goal)
    return best


def _continued(z: FloatArray) -> FloatArray:
    """The grid with a border of one cell on the straight line through the two cells inside it."""
    if min(z.shape) < 2:
        return np.pad(z, 1, constant_values=np.nan)
    return np.pad(z, 1, mode="reflect", reflect_type="odd")


def _accumulated(terrain: Terrain, order: list[int], target: npt.NDArray[np.int64]) -> FloatArray:
    """Own area of each cell handed on downhill, from the highest cell to the lowest [m2]."""
    dx, dy = cell_size_m(terrain)
    area = np.broadcast_to(dx * dy, terrain.elevation_m.shape).ravel().tolist()
    goals = target.tolist()
    for cell in reversed(order):
        if goals[cell] >= 0:
            area[goals[cell]] += area[cell]
    return np.array(area).reshape(terrain.elevation_m.shape)
