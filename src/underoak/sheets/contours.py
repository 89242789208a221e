"""Lines of equal height through an elevation grid."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]

Point = tuple[float, float]
#: An edge of the grid: (row, column, 0 along the row or 1 down the column).
GridEdge = tuple[int, int, int]

#: Which sides of a cell (0 top, 1 right, 2 bottom, 3 left) the line joins, for each of the sixteen
#: patterns of corners above the level (1 top left, 2 top right, 4 bottom right, 8 bottom left).
#: In the two saddles the high corners are kept apart.
CASES: tuple[tuple[tuple[int, int], ...], ...] = (
    (), ((3, 0),), ((0, 1),), ((3, 1),), ((1, 2),), ((3, 0), (1, 2)), ((0, 2),), ((3, 2),),
    ((2, 3),), ((0, 2),), ((0, 1), (2, 3)), ((1, 2),), ((1, 3),), ((0, 1),), ((3, 0),), (),
)  # fmt: skip


def contour_lines(heights: FloatArray, level: float) -> list[list[Point]]:
    """Lines at ``level`` through a grid of shape (rows, columns), as (column, row) in fractions of cells.

    Cells with a NaN corner are left out. Closed lines end at their first point.

    Method: marching squares with linear interpolation. Source: Lorensen, Cline 1987 for the cube;
    the square is its plane case (from memory).
    """
    high = heights > level
    known = np.isfinite(heights)
    whole = known[:-1, :-1] & known[:-1, 1:] & known[1:, 1:] & known[1:, :-1]
    pattern = high[:-1, :-1] + 2 * high[:-1, 1:] + 4 * high[1:, 1:] + 8 * high[1:, :-1]
    cells = np.argwhere(whole & (pattern > 0) & (pattern < 15))
    links: dict[GridEdge, list[GridEdge]] = defaultdict(list)
    for row, column in cells:
        for one, two in CASES[int(pattern[row, column])]:
            a, b = _side(int(row), int(column), one), _side(int(row), int(column), two)
            links[a].append(b)
            links[b].append(a)
    return [[_crossing(heights, level, edge) for edge in chain] for chain in _chains(links)]


def _side(row: int, column: int, side: int) -> GridEdge:
    return ((row, column, 0), (row, column + 1, 1), (row + 1, column, 0), (row, column, 1))[side]


def _crossing(heights: FloatArray, level: float, edge: GridEdge) -> Point:
    row, column, down = edge
    a = float(heights[row, column])
    b = float(heights[row + 1, column] if down else heights[row, column + 1])
    share = (level - a) / (b - a)
    return (float(column), row + share) if down else (column + share, float(row))


def _chains(links: dict[GridEdge, list[GridEdge]]) -> list[list[GridEdge]]:
    left = {edge: list(others) for edge, others in links.items()}
    ends = [edge for edge, others in links.items() if len(others) == 1]
    chains = []
    for first in [*ends, *links]:
        if not left[first]:
            continue
        chain = [first]
        while left[chain[-1]]:
            following = left[chain[-1]].pop()
            left[following].remove(chain[-1])
            chain.append(following)
        chains.append(chain)
    return chains
