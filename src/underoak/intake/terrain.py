"""Elevation grids from ESRI ASCII files and GeoTIFF."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt

from underoak.errors import BadData
from underoak.intake.coordinates import position_problem
from underoak.intake.raw_grid import RawGrid
from underoak.intake.reading import Reading
from underoak.intake.stable_id import stable_id
from underoak.intake.terrain_ascii import read_ascii_grid
from underoak.intake.terrain_geotiff import read_geotiff
from underoak.intake.terrain_grid import to_degrees
from underoak.model.ground import LonLat, Terrain
from underoak.model.problem import Problem

#: Elevations on land, with a margin [m].
LOWEST_M, HIGHEST_M = -450.0, 9000.0
WGS84 = 4326


def read_terrain(
    path: Path, *, epsg: int | None = None, home: LonLat | None = None
) -> Reading[tuple[Terrain, ...]]:
    """The elevation grid of a file, as one Terrain record in longitude and latitude.

    Parameters
    ----------
    path : GeoTIFF (.tif, .tiff) or ESRI ASCII grid (.asc, .txt, .grd), heights in metres
    epsg : coordinate system, where the file does not say it (an ASCII grid takes it from a .prj beside it)
    home : (longitude, latitude) of the household, to tell a grid of somewhere else

    Returns
    -------
    Reading with one Terrain; unknown cells are NaN. A grid in another coordinate system is resampled
    bilinearly to degrees with cells of the same size.

    Raises
    ------
    BadData   when the file is missing, truncated, no grid, has no known coordinate system, or heights
        that are no metres above sea level
    """
    raw = read_grid(path, epsg)
    grid, resampled = (raw, False) if raw.epsg == WGS84 else (to_degrees(raw, path.name), True)
    heights = grid.heights * raw.metres
    _check(heights, grid, path.name, home)
    rows, columns = heights.shape
    terrain = Terrain(
        stable_id("terrain", grid.west, grid.north, grid.step_x, grid.step_y, rows, columns),
        path.stem,
        grid.west,
        grid.north,
        grid.step_x,
        grid.step_y,
        heights,
    )
    return Reading((terrain,), (), _understood(terrain, raw, resampled))


def read_grid(path: Path, epsg: int | None) -> RawGrid:
    """The grid of a file in its own coordinate system, which is known; BadData as in `read_terrain`."""
    read = read_geotiff if path.suffix.lower() in (".tif", ".tiff") else read_ascii_grid
    return _with_epsg(read(path), epsg, path)


def _with_epsg(raw: RawGrid, epsg: int | None, path: Path) -> RawGrid:
    if raw.epsg is not None:
        return raw
    rows, columns = raw.heights.shape
    corners = (raw.west, raw.north, raw.west + columns * raw.step_x, raw.north - rows * raw.step_y)
    looks_like_degrees = all(abs(x) <= 180.5 for x in corners) and all(abs(y) <= 90.5 for y in corners[1::2])
    known = epsg or (WGS84 if looks_like_degrees and raw.step_x <= 0.1 else None)
    if known is None:
        raise BadData(
            [
                Problem(
                    "the file does not say in which coordinate system its grid lies",
                    path.name,
                    "longitude and latitude, a GeoTIFF with its keys, or a .prj file beside it",
                    "put its .prj file beside it, or give its EPSG number",
                )
            ]
        )
    return RawGrid(raw.west, raw.north, raw.step_x, raw.step_y, raw.heights, known, raw.metres)


def _check(heights: npt.NDArray[np.float64], grid: RawGrid, file: str, home: LonLat | None) -> None:
    rows, columns = heights.shape
    middle = grid.west + columns * grid.step_x / 2.0, grid.north - rows * grid.step_y / 2.0
    problems: list[Problem] = []
    if problem := position_problem(*middle, f"{file}, middle of the grid", home):
        problems.append(problem)
    known = heights[np.isfinite(heights)]
    if not len(known):
        problems.append(Problem("no cell of the grid has a height", file, "heights in metres"))
    elif known.min() < LOWEST_M or known.max() > HIGHEST_M:
        problems.append(
            Problem(
                f"heights run from {known.min():g} to {known.max():g} m",
                file,
                f"metres above the sea, {LOWEST_M:g} to {HIGHEST_M:g}",
                "perhaps feet, or a value for unknown cells that the file does not name",
            )
        )
    if problems:
        raise BadData(problems)


def _understood(terrain: Terrain, raw: RawGrid, resampled: bool) -> tuple[str, ...]:
    rows, columns = terrain.elevation_m.shape
    unknown = int(np.isnan(terrain.elevation_m).sum())
    low, high = float(np.nanmin(terrain.elevation_m)), float(np.nanmax(terrain.elevation_m))
    lines = [
        f"{rows} x {columns} cells of about {terrain.step_lat_deg * 111_000:.0f} m, "
        f"{low:.0f} to {high:.0f} m high, {unknown} unknown"
    ]
    if resampled:
        lines.append(f"resampled from EPSG:{raw.epsg} to longitude and latitude")
    if raw.metres != 1.0:
        lines.append(f"heights turned into metres (1 unit = {raw.metres:g} m)")
    return tuple(lines)
