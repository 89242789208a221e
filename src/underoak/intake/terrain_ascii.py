"""ESRI ASCII grids: six header lines, then rows of heights from the north."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt

from underoak.errors import BadData
from underoak.intake.raw_grid import RawGrid, bad, epsg_of, too_many_cells
from underoak.intake.reading import read_text
from underoak.intake.table import number
from underoak.model.problem import Problem

_EXPECTED = "an ESRI ASCII grid: ncols, nrows, xllcorner, yllcorner, cellsize, NODATA_value, then the rows"
_KEYS = {
    "ncols",
    "nrows",
    "xllcorner",
    "yllcorner",
    "xllcenter",
    "yllcenter",
    "cellsize",
    "dx",
    "dy",
    "nodata_value",
}


def read_ascii_grid(path: Path) -> RawGrid:
    """The grid of an ASCII file; unknown cells are NaN.

    Raises
    ------
    BadData   when the file is missing, empty, binary or cut off, or a header line is missing or wrong
    """
    lines = read_text(path, expected=_EXPECTED).splitlines()
    header, first = _header(lines, path.name)
    columns, rows = int(header["ncols"]), int(header["nrows"])
    if problem := too_many_cells(columns, rows, path.name):
        raise BadData([problem])
    heights = _heights(lines, first, rows, columns, path.name)
    heights[heights == header.get("nodata_value", -9999.0)] = np.nan
    step_x, step_y = (
        header.get("dx", header.get("cellsize", 0.0)),
        header.get("dy", header.get("cellsize", 0.0)),
    )
    west = header["xllcorner"] if "xllcorner" in header else header["xllcenter"] - step_x / 2.0
    south = header["yllcorner"] if "yllcorner" in header else header["yllcenter"] - step_y / 2.0
    beside = path.with_suffix(".prj")
    epsg = epsg_of(beside.read_text("utf-8", errors="replace")) if beside.is_file() else None
    return RawGrid(west, south + rows * step_y, step_x, step_y, heights, epsg)


def _header(lines: list[str], file: str) -> tuple[dict[str, float], int]:
    header: dict[str, float] = {}
    first = 0
    for first, line in enumerate(lines):
        words = line.split()
        if words and words[0].casefold() not in _KEYS:
            break
        if words:
            value = number(words[1]) if len(words) == 2 else None
            if value is None:
                raise bad(f"{line.strip()!r} is no header line", f"{file}, line {first + 1}", _EXPECTED)
            header[words[0].casefold()] = value
    missing = [
        names
        for names in ("ncols", "nrows", "xllcorner|xllcenter", "yllcorner|yllcenter", "cellsize|dx")
        if not any(name in header for name in names.split("|"))
    ]
    if missing:
        where = f"{file}, line {first + 1}"
        raise bad(f"the header lacks {', '.join(m.replace('|', ' or ') for m in missing)}", where, _EXPECTED)
    if header.get("cellsize", header.get("dx", 0.0)) <= 0.0 or header.get("dy", 1.0) <= 0.0:
        raise bad("the cell size is not above 0", f"{file}, header", _EXPECTED)
    return header, first


def _heights(lines: list[str], first: int, rows: int, columns: int, file: str) -> npt.NDArray[np.float64]:
    """Numbers of all rows; a row of the grid may be broken over several lines."""
    values: list[npt.NDArray[np.float64]] = []
    for k, line in enumerate(lines[first:], start=first + 1):
        if line.strip():
            try:
                values.append(np.array(line.split(), dtype=np.float64))
            except ValueError as error:
                raise bad(
                    f"a height is no number: {error}", f"{file}, line {k}", "heights in metres"
                ) from error
    flat = np.concatenate(values) if values else np.empty(0)
    if len(flat) != rows * columns:
        ends = "the file is cut off" if len(flat) < rows * columns else "the header does not fit the rows"
        problem = Problem(
            f"{len(flat)} heights: {ends}",
            file,
            f"{rows} x {columns} = {rows * columns}",
            "download it again",
        )
        raise BadData([problem])
    return flat.reshape(rows, columns)
