"""Forest-type maps as rasters: cells of a class become areas with so many host stems on a hectare."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from underoak.book.hosts import match_host
from underoak.errors import BadData
from underoak.intake.coordinates import position_problem
from underoak.intake.reading import Reading
from underoak.intake.stable_id import stable_id
from underoak.intake.terrain import WGS84, read_grid
from underoak.intake.tree_features import HOW_MANY, MOST_STEMS_HA, Polygons, area_m2
from underoak.model.ground import HostPatch, LonLat
from underoak.model.problem import Problem

if TYPE_CHECKING:
    from underoak.intake.raw_grid import RawGrid

RASTERS = (".tif", ".tiff", ".asc", ".grd")
#: A map with more stretches of one class along its rows than this is a country's, or holds no classes.
MOST_RUNS = 300_000
#: So many of the classes nobody explained are named.
MOST_NAMED = 12
_HOST = re.compile(r"\s*(.+?)\s+(\d+(?:\.\d+)?|few|some|many)\s*", re.IGNORECASE)
_EXPECTED = 'what stands in a class, such as --column 41="white oak 40 + red oak many"'

#: A host group with its stems on a hectare.
_Stand = tuple[str, float]


def read_forest_raster(
    path: Path, *, classes: Mapping[str, str], epsg: int | None = None, home: LonLat | None = None
) -> Reading[tuple[HostPatch, ...]]:
    """The areas of a forest-type raster in which hosts stand.

    Parameters
    ----------
    path : GeoTIFF or ESRI ASCII grid with a whole number for each class
    classes : class -> its hosts with their stems on a hectare, "white oak 40 + red oak many"; few, some and
        many count as in `tree_features.HOW_MANY`
    epsg : coordinate system, where the file does not say it
    home : (longitude, latitude) of the household, to tell a map of somewhere else

    Returns
    -------
    Reading with one HostPatch for each class and host; classes that nobody explained are left aside and
    named. Outlines follow the cells; they are carried to degrees corner by corner, nothing is resampled.

    Raises
    ------
    BadData   when the grid cannot be read (see `terrain.read_terrain`), no class is explained or an
        explained one is not in it
    """
    raw = read_grid(path, epsg)
    codes = np.unique(raw.heights[np.isfinite(raw.heights)])
    stands, problems = _legend(classes, codes, path.name)
    if not classes:
        listed = ", ".join(f"{code:g}" for code in codes[:MOST_NAMED])
        problems.append(Problem(f"nobody said what stands in its classes {listed}", path.name, _EXPECTED))
    middle = _to_degrees(raw, np.array([_middle(raw)]), path.name)[0]
    if problem := position_problem(float(middle[0]), float(middle[1]), f"{path.name}, middle", home):
        problems.append(problem)
    if problems:
        raise BadData(problems)
    patches, told = [], []
    for code, hosts in stands.items():
        polygons = _outlines(raw, code, path.name)
        name = f"{path.stem}, class {code:g}"
        told.append(f"class {code:g}: {area_m2(polygons) / 10_000.0:.1f} ha, " + " and ".join(_words(hosts)))
        for number, (group, stems_ha) in enumerate(hosts):
            key = stable_id("patch", polygons, path.stem, number)
            patches.append(HostPatch(key, name, polygons, group, stems_ha))
    aside = [f"{code:g}" for code in codes if code not in stands]
    if aside:
        more = ", …" if len(aside) > MOST_NAMED else ""
        told.append(f"classes left aside: {', '.join(aside[:MOST_NAMED])}{more}")
    return Reading(tuple(patches), (), tuple(told))


def _words(hosts: list[_Stand]) -> list[str]:
    return [f"{stems_ha:g} stems of {group} on a hectare" for group, stems_ha in hosts]


def _legend(
    classes: Mapping[str, str], codes: Any, file: str
) -> tuple[dict[float, list[_Stand]], list[Problem]]:
    """What stands in each class, and what of it cannot be understood."""
    stands: dict[float, list[_Stand]] = {}
    problems: list[Problem] = []
    for text, meaning in classes.items():
        where = f"{file}, class {text}"
        try:
            code = float(text)
        except ValueError:
            problems.append(Problem(f"class {text!r} is no number", file, _EXPECTED))
            continue
        if code not in codes:
            listed = ", ".join(f"{one:g}" for one in codes[:MOST_NAMED])
            problems.append(Problem("the file has no such class", where, f"one of {listed}"))
        hosts = [_stand(part, where) for part in meaning.split("+")]
        problems += [one for one in hosts if isinstance(one, Problem)]
        stands[code] = [one for one in hosts if not isinstance(one, Problem)]
    return stands, problems


def _stand(text: str, where: str) -> _Stand | Problem:
    match = _HOST.fullmatch(text)
    group = match_host(match[1]) if match else "unknown"
    if match is None or group == "unknown":
        return Problem(f"{text.strip()!r} names no host with its stems on a hectare", where, _EXPECTED)
    word = match[2].casefold()
    stems_ha = HOW_MANY[word] if word in HOW_MANY else float(word)
    if not 0.0 < stems_ha <= MOST_STEMS_HA:
        return Problem(
            f"{word} stems of {group} on a hectare", where, f"more than 0, up to {MOST_STEMS_HA:.0f}"
        )
    return group, stems_ha


def _outlines(raw: RawGrid, code: float, file: str) -> Polygons:
    """Polygons of all cells of one class, in degrees.

    Method: stretches of the class along each row are boxes; boxes that touch are joined.
    """
    import shapely

    mine = np.pad(raw.heights == code, ((0, 0), (1, 1))).astype(np.int8)
    step = np.diff(mine, axis=1)
    (row, first), (_, behind) = np.nonzero(step == 1), np.nonzero(step == -1)
    if len(row) > MOST_RUNS:
        what = f"class {code:g} lies in {len(row)} pieces of rows"
        raise BadData([Problem(what, file, f"at most {MOST_RUNS}", "cut out your area")])
    boxes = shapely.box(
        raw.west + first * raw.step_x,
        raw.north - (row + 1) * raw.step_y,
        raw.west + behind * raw.step_x,
        raw.north - row * raw.step_y,
    )
    joined: Any = shapely.simplify(shapely.union_all(boxes), 0.0)
    parts = [joined] if joined.geom_type == "Polygon" else list(joined.geoms)
    return tuple(tuple(_ring(raw, ring, file) for ring in (part.exterior, *part.interiors)) for part in parts)


def _ring(raw: RawGrid, ring: Any, file: str) -> tuple[LonLat, ...]:
    degrees = _to_degrees(raw, np.array(ring.coords), file)
    return tuple((round(float(x), 7), round(float(y), 7)) for x, y in degrees)


def _middle(raw: RawGrid) -> tuple[float, float]:
    rows, columns = raw.heights.shape
    return raw.west + columns * raw.step_x / 2.0, raw.north - rows * raw.step_y / 2.0


def _to_degrees(raw: RawGrid, xy: Any, file: str) -> Any:
    """Positions (n, 2) of the grid's own coordinates in degrees; BadData where they do not lie in it."""
    from underoak.intake.terrain_grid import carrier

    if raw.epsg == WGS84:
        return xy
    degrees = np.column_stack(carrier(raw.epsg, file).transform(xy[:, 0], xy[:, 1]))
    if not np.isfinite(degrees).all():
        what = f"the grid does not lie in EPSG:{raw.epsg}"
        raise BadData([Problem(what, file, "its own coordinate system")])
    return degrees
