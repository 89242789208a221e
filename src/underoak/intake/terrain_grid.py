"""Grids in other coordinate systems are resampled to longitude and latitude."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from underoak.errors import BadData
from underoak.intake.raw_grid import RawGrid, too_many_cells
from underoak.model.problem import Problem


def to_degrees(raw: RawGrid, file: str) -> RawGrid:
    """The grid in WGS 84 degrees, cells about as large as before.

    Raises
    ------
    BadData   when the coordinate system is not known, or the grid lies outside it

    Method
    ------
    The rim is carried over to find the bounds; each new cell centre is carried back and its height read
    bilinearly between the four old centres around it; unknown where one of them is.
    """
    carry = carrier(raw.epsg, file)
    rows, columns = raw.heights.shape
    lon, lat = carry.transform(*_rim(raw))
    if not (np.isfinite(lon).all() and np.isfinite(lat).all()):
        raise BadData(
            [Problem(f"the grid does not lie in EPSG:{raw.epsg}", file, "its own coordinate system")]
        )
    step_lon, step_lat = np.ptp(lon) / columns, np.ptp(lat) / rows
    if problem := too_many_cells(columns, rows, file):
        raise BadData([problem])
    x, y = np.meshgrid(
        lon.min() + (np.arange(columns) + 0.5) * step_lon, lat.max() - (np.arange(rows) + 0.5) * step_lat
    )
    heights = _bilinear(raw, *carry.transform(x, y, direction="INVERSE"))
    return RawGrid(
        float(lon.min()), float(lat.max()), float(step_lon), float(step_lat), heights, 4326, raw.metres
    )


def carrier(epsg: int | None, file: str) -> Any:
    """Carries places over to degrees, and back; one for both, for some systems take a second to prepare."""
    from pyproj import Transformer
    from pyproj.exceptions import CRSError

    try:
        return Transformer.from_crs(epsg, 4326, always_xy=True)
    except CRSError as error:
        raise BadData([Problem(f"EPSG:{epsg} is no coordinate system", file, "an EPSG number")]) from error


def _rim(raw: RawGrid) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Points along the outer edge of the grid."""
    rows, columns = raw.heights.shape
    along = np.linspace(0.0, 1.0, 41)
    east, south = raw.west + columns * raw.step_x, raw.north - rows * raw.step_y
    x = raw.west + along * (east - raw.west)
    y = raw.north + along * (south - raw.north)
    still = np.ones_like(along)
    return (
        np.concatenate([x, x, still * raw.west, still * east]),
        np.concatenate([still * raw.north, still * south, y, y]),
    )


def _bilinear(
    raw: RawGrid, x: npt.NDArray[np.float64], y: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    from scipy.ndimage import map_coordinates

    column = (x - raw.west) / raw.step_x - 0.5
    row = (raw.north - y) / raw.step_y - 0.5
    rows, columns = raw.heights.shape
    inside = (column >= -0.5) & (column <= columns - 0.5) & (row >= -0.5) & (row <= rows - 0.5)
    spot = [np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)]
    known = np.isfinite(raw.heights)
    heights = map_coordinates(np.where(known, raw.heights, 0.0), spot, order=1, mode="nearest")
    share = map_coordinates(known.astype(np.float64), spot, order=1, mode="nearest")
    return np.where(inside & (share > 0.999), heights, np.nan)
