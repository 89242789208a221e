"""Trails and car parks from GeoJSON lines and points."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from underoak.errors import BadData
from underoak.intake import osm_tags
from underoak.intake.car_parks import car_park_of
from underoak.intake.geojson import Feature, read_features
from underoak.intake.reading import Reading
from underoak.intake.stable_id import stable_id
from underoak.model.ground import CarPark, LonLat, Trail
from underoak.model.problem import Problem
from underoak.model.quantities import counted


def read_geojson_trails(path: Path, *, home: LonLat | None = None) -> Reading[tuple[Trail | CarPark, ...]]:
    """Trails of a GeoJSON file, and the car parks in it.

    Parameters
    ----------
    path : lines with the properties ``name``, ``surface``, ``oneway`` (true: only in the direction of the
        line) and ``closed`` (true); where a property ``highway`` is present the map tags are understood as
        in an OpenStreetMap extract. Points and areas with ``kind`` = "car_park" or
        ``amenity`` = "parking" are car parks
    home : (longitude, latitude) of the household, to tell swapped coordinates

    Raises
    ------
    BadData   when the file as a whole cannot be read or holds no line
    """
    features = read_features(path, home=home)
    problems = list(features.problems)
    records: list[Trail | CarPark] = []
    aside = 0
    for feature in features.records:
        before = len(records)
        if feature.geometry in ("LineString", "MultiLineString"):
            records += _trails(feature, problems)
        elif (car_park := car_park_of(feature)) is not None:
            records.append(car_park)
        aside += len(records) == before
    lines = sum(isinstance(r, Trail) for r in records)
    if not lines and not problems:
        raise BadData([Problem("there is no line in it", path.name, "trails as LineString")])
    understood = (
        f"{counted(lines, 'trail')}, {counted(len(records) - lines, 'car park')}, "
        f"{counted(aside, 'other feature')} left aside"
    )
    unique = {record.id: record for record in records}
    return Reading(tuple(unique.values()), tuple(problems), (understood,))


def _trails(feature: Feature, problems: list[Problem]) -> Iterator[Trail]:
    tags = _tags(feature)
    by_map = "highway" in tags
    if by_map and not osm_tags.is_walked(tags):
        return
    closed, oneway = (_flag(feature, name, problems) for name in ("closed", "oneway"))
    sense = osm_tags.direction(tags) if by_map else int(oneway)
    lines = (feature.coordinates,) if feature.geometry == "LineString" else feature.coordinates
    for line in lines:
        if len(set(line)) < 2:
            problems.append(
                Problem("the trail stays on one point", feature.where, "at least 2 different points")
            )
            continue
        name = feature.text("name", "ref")
        heights = feature.heights
        yield Trail(
            stable_id("trail", name, [(round(x, 6), round(y, 6)) for x, y in line]),
            name,
            tuple(reversed(line)) if sense < 0 else line,
            tuple(reversed(heights)) if sense < 0 else heights,
            feature.text("surface"),
            sense != 0,
            closed or (by_map and osm_tags.is_closed(tags)),
        )


def _flag(feature: Feature, name: str, problems: list[Problem]) -> bool:
    value = feature.properties.get(name)
    if value in (None, "", False, 0, "no", "false", "0"):
        return False
    if value in (True, 1, "yes", "true", "1", "-1"):
        return True
    problems.append(Problem(f"{name} = {value!r}", feature.where, "true or false"))
    return True


def _tags(feature: Feature) -> dict[str, str]:
    return {k: str(v) for k, v in feature.properties.items() if isinstance(v, (str, int, float))}
