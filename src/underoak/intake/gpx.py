"""GPX 1.0 and 1.1: tracks, routes and waypoints as they stand in the file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from underoak.errors import BadData
from underoak.intake.coordinates import position_problem
from underoak.intake.xml_guard import children, read_xml, text_of
from underoak.model.ground import LonLat
from underoak.model.problem import Problem

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

_EXPECTED = "a GPX file with tracks, routes or waypoints"
#: Heights outside this are a receiver's error [m].
LOWEST_M, HIGHEST_M = -450.0, 9000.0


@dataclass(frozen=True, slots=True)
class Point:
    """One point: position, elevation where one was written that can be true, time as written."""

    lonlat: LonLat
    elevation_m: float | None
    time: str
    name: str = ""
    kind: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class Way:
    """A track segment or a route."""

    where: str
    name: str
    recorded: bool
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Gpx:
    """All that a file holds. ``waypoints`` carry their place in the file as (where, point)."""

    ways: tuple[Way, ...]
    waypoints: tuple[tuple[str, Point], ...]
    problems: tuple[Problem, ...]


def read_gpx(path: Path, *, home: LonLat | None = None) -> Gpx:
    """Tracks, routes and waypoints with checked positions; points that are none become problems.

    Raises
    ------
    BadData   when the file as a whole cannot be read or holds no point
    """
    root = read_xml(path, root="gpx", expected=_EXPECTED)
    problems: list[Problem] = []
    ways: list[Way] = []
    for t, track in children(root, "trk"):
        for s, segment in children(track, "trkseg"):
            where = f"{path.name}, track {t}, segment {s}"
            points = _points(segment, "trkpt", where, home, problems)
            ways.append(Way(where, text_of(track, "name"), recorded=True, points=points))
    for r, route in children(root, "rte"):
        where = f"{path.name}, route {r}"
        points = _points(route, "rtept", where, home, problems)
        ways.append(Way(where, text_of(route, "name"), recorded=False, points=points))
    waypoints = []
    for w, element in children(root, "wpt"):
        where = f"{path.name}, waypoint {w}"
        point = _point(element, where, home)
        if isinstance(point, Problem):
            problems.append(point)
        else:
            waypoints.append((where, point))
    if not (ways or waypoints or problems):
        raise BadData([Problem("there is no track, route or waypoint", path.name, _EXPECTED)])
    return Gpx(tuple(ways), tuple(waypoints), tuple(problems))


def _points(
    parent: Element, tag: str, where: str, home: LonLat | None, problems: list[Problem]
) -> tuple[Point, ...]:
    points = []
    for number, element in children(parent, tag):
        point = _point(element, f"{where}, point {number}", home)
        if isinstance(point, Problem):
            problems.append(point)
        else:
            points.append(point)
    return tuple(points)


def _point(element: Element, where: str, home: LonLat | None) -> Point | Problem:
    lon, lat = element.get("lon", ""), element.get("lat", "")
    try:
        position = float(lon), float(lat)
    except ValueError:
        return Problem(f"position lat={lat!r} lon={lon!r} is no pair of numbers", where, "degrees")
    words = " ".join(t for tag in ("cmt", "desc") if (t := text_of(element, tag)))
    return position_problem(*position, where, home) or Point(
        position,
        _elevation(text_of(element, "ele")),
        text_of(element, "time"),
        text_of(element, "name"),
        text_of(element, "type") or text_of(element, "sym"),
        words,
    )


def _elevation(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if LOWEST_M <= value <= HIGHEST_M else None
