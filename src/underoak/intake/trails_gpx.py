"""Trails from GPX tracks and routes; jumps of the receiver are named and never become trail."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from statistics import median

from underoak.errors import BadData
from underoak.intake.gpx import Gpx, Point, Way, read_gpx
from underoak.intake.reading import Reading
from underoak.intake.stable_id import stable_id
from underoak.model.ground import LonLat, Trail
from underoak.model.problem import Problem
from underoak.model.quantities import counted

#: A step of a track is a jump when it is longer than this [m] and than 20 times the usual step. Judgement.
JUMP_M = 300.0
JUMP_TIMES = 20.0
#: No step of a recorded track is longer, whatever is usual in it [m]. Judgement.
LONGEST_STEP_M = 2000.0
#: Jumps told one by one for each track.
MOST_JUMPS = 10


def read_gpx_trails(path: Path, *, home: LonLat | None = None) -> Reading[tuple[Trail, ...]]:
    """Trails of a GPX file: one for each track segment and route.

    Parameters
    ----------
    path : the file
    home : (longitude, latitude) of the household, to tell swapped coordinates

    Returns
    -------
    Reading with Trail records. Times are not used, so odd ones do no harm. Elevations are kept when every
    point of a segment has one. A jump in a track is a problem; the pieces on either side of it are records
    of their own, so that accepting the good part of a file bridges nothing.

    Raises
    ------
    BadData   when the file as a whole cannot be read, or holds waypoints only
    """
    gpx = read_gpx(path, home=home)
    if not gpx.ways and not gpx.problems:
        what = f"it holds {counted(len(gpx.waypoints), 'waypoint')} but no track or route"
        raise BadData([Problem(what, path.name, "trails", "load waypoints as visits")])
    problems = list(gpx.problems)
    trails: list[Trail] = []
    for way in gpx.ways:
        if not way.points:
            continue  # receivers write empty segments when they are switched on
        if len(way.points) < 2:
            problems.append(
                Problem(f"the trail has {counted(len(way.points), 'point')}", way.where, "at least 2 points")
            )
            continue
        pieces, jumps = _pieces(way)
        problems += jumps
        trails += [_trail(way, piece) for piece in pieces if len({p.lonlat for p in piece}) > 1]
    unique = {trail.id: trail for trail in trails}
    return Reading(tuple(unique.values()), tuple(problems), _understood(gpx, list(unique.values())))


def _pieces(way: Way) -> tuple[list[Sequence[Point]], list[Problem]]:
    if not way.recorded:
        return [way.points], []
    steps = [step_m(a.lonlat, b.lonlat) for a, b in pairwise(way.points)]
    most = min(max(JUMP_M, JUMP_TIMES * median(steps)), LONGEST_STEP_M)
    cuts = [k for k, step in enumerate(steps) if step > most]
    problems = [
        Problem(
            f"a jump of {steps[k]:.0f} m between points {k + 1} and {k + 2}",
            way.where,
            f"steps of at most {most:.0f} m in a recorded track",
            "cut the track there; nothing is drawn over a jump",
        )
        for k in cuts[:MOST_JUMPS]
    ]
    if len(cuts) > MOST_JUMPS:
        problems.append(Problem(f"{len(cuts) - MOST_JUMPS} more jumps", way.where))
    marks = [0, *(k + 1 for k in cuts), len(way.points)]
    return [way.points[a:b] for a, b in pairwise(marks)], problems


def _trail(way: Way, points: Sequence[Point]) -> Trail:
    line = tuple(point.lonlat for point in points)
    heights = tuple(point.elevation_m for point in points)
    known = tuple(h for h in heights if h is not None)
    return Trail(
        stable_id("trail", way.name, [(round(x, 6), round(y, 6)) for x, y in line]),
        way.name,
        line,
        known if len(known) == len(heights) else (),
    )


def step_m(a: LonLat, b: LonLat) -> float:
    """Rough distance of two positions in degrees [m], on a sphere; good enough to tell a jump."""
    east = math.radians((b[0] - a[0] + 180.0) % 360.0 - 180.0) * math.cos(math.radians((a[1] + b[1]) / 2.0))
    return 6_371_009.0 * math.hypot(east, math.radians(b[1] - a[1]))


def _understood(gpx: Gpx, trails: Sequence[Trail]) -> tuple[str, ...]:
    metres = sum(step_m(a, b) for t in trails for a, b in pairwise(t.points))
    with_height = sum(bool(t.elevations_m) for t in trails)
    empty = sum(not way.points for way in gpx.ways)
    lines = [f"{counted(len(trails), 'trail')}, {metres / 1000:.2f} km, {with_height} with elevations"]
    if empty:
        lines.append(f"{counted(empty, 'empty segment')} left aside")
    if gpx.waypoints:
        lines.append(f"{counted(len(gpx.waypoints), 'waypoint')} left aside")
    return tuple(lines)
