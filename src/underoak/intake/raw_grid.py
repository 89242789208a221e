"""A grid of heights as it stands in a file, before it is placed on Earth."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from underoak.errors import BadData
from underoak.model.problem import Problem

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

#: Grids with more cells would fill the memory of a small computer.
MOST_CELLS = 50_000_000


@dataclass(frozen=True, slots=True)
class RawGrid:
    """A grid as it stands in the file: outer north-west corner and steps in its own coordinates.

    ``epsg`` is None where the file does not say; ``metres`` is the length of one unit of height.
    """

    west: float
    north: float
    step_x: float
    step_y: float
    heights: npt.NDArray[np.float64]
    epsg: int | None
    metres: float = 1.0


def too_many_cells(columns: int, rows: int, file: str) -> Problem | None:
    """A problem when a header promises no cells or more than the memory should hold."""
    if columns < 2 or rows < 2:
        return Problem(f"the grid has {columns} x {rows} cells", file, "at least 2 x 2")
    if columns * rows > MOST_CELLS:
        return Problem(
            f"the grid has {columns} x {rows} cells", file, f"at most {MOST_CELLS}", "cut out your area"
        )
    return None


def epsg_of(wkt: str) -> int | None:
    """EPSG number of a coordinate system written as well-known text, or None."""
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        number: Any = CRS.from_wkt(wkt).to_epsg(min_confidence=70)
    except CRSError:
        return None
    return None if number is None else int(number)


def bad(what: str, where: str, expected: str = "", remedy: str = "") -> BadData:
    """One problem of a grid file as an error."""
    return BadData([Problem(what, where, expected, remedy)])
