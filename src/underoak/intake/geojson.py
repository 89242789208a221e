"""GeoJSON (RFC 7946) read defensively; every problem carries its feature number."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from underoak.errors import BadData
from underoak.intake.coordinates import position_problem
from underoak.intake.reading import Reading, read_text
from underoak.model.ground import LonLat
from underoak.model.problem import Problem
from underoak.model.quantities import counted

_EXPECTED = "a GeoJSON FeatureCollection (RFC 7946)"
#: geometry -> how many lists lie around one position
_DEPTH = {"Point": 0, "MultiPoint": 1, "LineString": 1, "MultiLineString": 2, "Polygon": 2, "MultiPolygon": 3}
#: The only coordinate system RFC 7946 (section 4) knows, under the names older files give it.
_WGS84 = ("CRS84", "EPSG::4326", "EPSG:4326")


@dataclass(frozen=True, slots=True)
class Feature:
    """One feature with checked coordinates: ``geometry`` names the type, positions are (lon, lat).

    ``heights`` holds the third number of each position of a LineString, empty unless all have one.
    """

    number: int
    where: str
    geometry: str
    coordinates: Any
    properties: Mapping[str, Any]
    id: str = ""
    heights: tuple[float, ...] = ()

    def text(self, *names: str) -> str:
        """The first property of these names that is filled, as stripped text."""
        for name in names:
            value = self.properties.get(name)
            if isinstance(value, (str, int, float)) and not isinstance(value, bool) and str(value).strip():
                return str(value).strip()
        return ""


def read_features(path: Path, *, home: LonLat | None = None) -> Reading[tuple[Feature, ...]]:
    """All features of a GeoJSON file whose geometry is whole, and all problems of the others.

    Raises
    ------
    BadData   when the file is missing, empty, binary, no JSON, no GeoJSON, or in a named map grid
    """
    document = _document(path)
    raw = _raw_features(document, path.name)
    features: list[Feature] = []
    problems: list[Problem] = []
    for number, item in enumerate(raw, start=1):
        found = _feature(item, number, f"{path.name}, feature {number}", home)
        if isinstance(found, Feature):
            features.append(found)
        else:
            problems.extend(found)
    return Reading(tuple(features), tuple(problems))


def _document(path: Path) -> dict[str, Any]:
    text = read_text(path, expected=_EXPECTED, long_lines=True)
    try:
        document = json.loads(text, parse_constant=_no_constant, parse_int=_short)
    except json.JSONDecodeError as error:
        where = f"{path.name}, line {error.lineno}, column {error.colno}"
        raise BadData([Problem(f"this is no JSON: {error.msg}", where, _EXPECTED)]) from error
    except RecursionError as error:
        raise BadData([Problem("the JSON is nested too deeply", path.name, _EXPECTED)]) from error
    except ValueError as error:
        raise BadData([Problem(f"this is no JSON: {error}", path.name, _EXPECTED)]) from error
    if not isinstance(document, dict):
        raise BadData([Problem("this JSON is no GeoJSON", path.name, _EXPECTED)])
    return document


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is no number")


def _short(digits: str) -> int:
    if len(digits) > 18:
        raise ValueError(f"a number of {len(digits)} digits")
    return int(digits)


def _raw_features(document: dict[str, Any], file: str) -> list[Any]:
    crs = document.get("crs")
    if crs is not None and not any(name in json.dumps(crs) for name in _WGS84):
        raise BadData(
            [
                Problem(
                    "the coordinates are in another system than WGS 84",
                    f"{file}, member crs",
                    "longitude and latitude (EPSG:4326)",
                    "export it again with the coordinate system EPSG:4326",
                )
            ]
        )
    kind = str(document.get("type"))
    if kind == "FeatureCollection" and isinstance(document.get("features"), list):
        features: list[Any] = document["features"]
        if not features:
            raise BadData([Problem("the collection holds no feature", file, "at least one feature")])
        return features
    if kind == "Feature":
        return [document]
    if kind in _DEPTH:
        return [{"type": "Feature", "geometry": document, "properties": {}}]
    raise BadData([Problem(f"the document is of type {kind!r}", file, _EXPECTED)])


def _feature(item: Any, number: int, where: str, home: LonLat | None) -> Feature | list[Problem]:
    if not isinstance(item, dict) or item.get("type") != "Feature":
        return [Problem("this is no Feature", where, 'an object with "type": "Feature"')]
    geometry, properties = item.get("geometry"), item.get("properties")
    if not isinstance(geometry, dict) or str(geometry.get("type")) not in _DEPTH:
        kind = geometry.get("type") if isinstance(geometry, dict) else geometry
        return [Problem(f"geometry {kind!r} cannot be used", where, ", ".join(_DEPTH))]
    kind = str(geometry["type"])
    reader = _Positions(where, home)
    coordinates = reader.read(geometry.get("coordinates"), _DEPTH[kind])
    if problems := reader.problems or _shape_problems(kind, coordinates, where):
        return problems
    whole = kind == "LineString" and len(reader.heights) == len(coordinates)
    return Feature(
        number=number,
        where=where,
        geometry=kind,
        coordinates=coordinates,
        properties=properties if isinstance(properties, dict) else {},
        id=str(item.get("id", "")),
        heights=tuple(reader.heights) if whole else (),
    )


class _Positions:
    """Reads nested coordinates of one geometry; stops at the first position that is wrong."""

    def __init__(self, where: str, home: LonLat | None) -> None:
        self.where, self.home = where, home
        self.problems: list[Problem] = []
        self.heights: list[float] = []

    def read(self, value: Any, depth: int) -> Any:
        if self.problems:
            return ()
        if not isinstance(value, list):
            self._wrong("coordinates are missing or no list", "lists of [longitude, latitude]")
            return ()
        if depth:
            return tuple(self.read(part, depth - 1) for part in value)
        numbers = [v for v in value if isinstance(v, (int, float)) and not isinstance(v, bool)]
        if len(numbers) != len(value) or len(numbers) < 2:
            self._wrong(f"{value!r} is no position", "[longitude, latitude]")
            return ()
        lon, lat = float(numbers[0]), float(numbers[1])
        if problem := position_problem(lon, lat, self.where, self.home):
            self.problems.append(problem)
        if len(numbers) > 2 and math.isfinite(numbers[2]):
            self.heights.append(float(numbers[2]))
        return (lon, lat)

    def _wrong(self, what: str, expected: str) -> None:
        self.problems.append(Problem(what, self.where, expected))


def _shape_problems(kind: str, coordinates: Any, where: str) -> list[Problem]:
    if kind in ("Polygon", "MultiPolygon"):
        polygons = (coordinates,) if kind == "Polygon" else coordinates
        if not polygons or not all(polygons):
            return [Problem("the polygon has no ring", where, "at least one closed ring")]
        return [p for polygon in polygons for ring in polygon if (p := _ring_problem(ring, where))]
    lines = (coordinates,) if kind == "LineString" else coordinates if kind == "MultiLineString" else ()
    return [
        Problem(f"the line has {counted(len(line), 'point')}", where, "at least 2 points")
        for line in lines
        if len(line) < 2
    ]


def _ring_problem(ring: tuple[LonLat, ...], where: str) -> Problem | None:
    if len(ring) < 4:
        return Problem(f"a ring has {len(ring)} positions", where, "at least 4, the last equal to the first")
    if ring[0] != ring[-1]:
        return Problem(
            "a ring is not closed", where, "the last position equal to the first", "repeat the first position"
        )
    if len(set(ring)) < 3:
        return Problem("a ring has no area", where, "at least 3 different positions")
    return None
