"""Hosts noted on the way with a receiver: tracks, routes and waypoints whose words name a tree."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from underoak.book.hosts import match_host
from underoak.errors import BadData
from underoak.intake.geojson import Feature
from underoak.intake.gpx import Gpx, read_gpx
from underoak.intake.reading import Reading
from underoak.intake.tree_features import HOW_MANY, circle_round, patches_of
from underoak.model.ground import HostPatch, LonLat
from underoak.model.problem import Problem
from underoak.model.quantities import counted

#: A waypoint speaks of the trees this far around it [m]. Judgement.
AROUND_M = 30.0
_EXPECTED = 'a name or description with a host tree, such as "old oaks along here" or "many beeches"'


def read_host_notes(path: Path, *, home: LonLat | None = None) -> Reading[tuple[HostPatch, ...]]:
    """Areas with hosts from the notes of a GPX file.

    Parameters
    ----------
    path : tracks and routes stand for 15 m on either side, waypoints for 30 m around; "few", "some" or
        "many" in their words says how many hosts, some where nothing is said
    home : (longitude, latitude) of the household, to tell swapped coordinates

    Returns
    -------
    Reading with HostPatch records. What names no host tree is left aside and counted.

    Raises
    ------
    BadData   when the file as a whole cannot be read, or nothing in it names a host tree
    """
    gpx = read_gpx(path, home=home)
    noted = [one for one in _features(gpx) if match_host(one.text("note")) != "unknown"]
    aside = sum(1 for _ in _features(gpx)) - len(noted)
    problems = list(gpx.problems)
    patches: dict[str, HostPatch] = {}
    for feature in noted:
        for found in patches_of(feature):
            if isinstance(found, Problem):
                problems.append(found)
            else:
                patches[found.id] = found
    if not patches and not problems:
        raise BadData([Problem("nothing in it names a host tree", path.name, _EXPECTED)])
    told = [f"{counted(len(patches), 'area')} with hosts, {counted(aside, 'other note')} left aside"]
    told += [
        f"{patch.name}: {patch.stems_ha:g} stems of {patch.host_group} on a hectare"
        for patch in patches.values()
    ]
    return Reading(tuple(patches.values()), tuple(problems), tuple(told))


def _features(gpx: Gpx) -> Iterator[Feature]:
    for number, way in enumerate(gpx.ways, start=1):
        line = tuple(point.lonlat for point in way.points)
        if len(set(line)) > 1:
            yield Feature(number, way.where, "LineString", line, _said(way.name))
    for number, (where, point) in enumerate(gpx.waypoints, start=1):
        words = " ".join(text for text in (point.name, point.kind, point.words) if text)
        yield Feature(number, where, "Polygon", circle_round(point.lonlat, AROUND_M), _said(words))


def _said(words: str) -> dict[str, str]:
    spoken = re.findall(r"[a-z]+", words.casefold())
    return {"note": words, "how_many": next((word for word in spoken if word in HOW_MANY), "some")}
