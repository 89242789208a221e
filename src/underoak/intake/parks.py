"""Park outlines with their permission record, car parks and known spots, from GeoJSON."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field

from underoak.book.hosts import match_host
from underoak.intake.car_parks import car_park_of
from underoak.intake.geojson import Feature, read_features
from underoak.intake.inside import place_at
from underoak.intake.reading import Reading
from underoak.intake.stable_id import named_id, stable_id
from underoak.model.ground import CarPark, LonLat, Permission, Place, Spot
from underoak.model.problem import Problem
from underoak.model.quantities import counted
from underoak.model.strict import Strict, validate_document

ParkRecord = Place | CarPark | Spot
#: What a point may say that it is.
POINT_KINDS = ("spot", "car_park")
_MONTH_DAY = Annotated[str, Field(pattern=r"^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$")]
_MONTH_DAYS = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
UNKNOWN = Permission(
    "unknown",
    note="no permission record came with the outline; ask who looks after the place, and write it in",
)


class PermissionDocument(Strict):
    """The property ``permission`` of a park outline."""

    status: Literal["allowed", "forbidden", "unknown"]
    who: str = ""
    limit_kg_person_day: Annotated[float, Field(ge=0.0, le=200.0)] | None = None
    season: tuple[_MONTH_DAY, _MONTH_DAY] | None = None
    source: str = ""
    checked_on: date | None = None
    expires_on: date | None = None
    note: str = ""


def read_parks(
    path: Path, *, home: LonLat | None = None, places: Sequence[Place] = ()
) -> Reading[tuple[ParkRecord, ...]]:
    """Places, car parks and spots of a GeoJSON file.

    Parameters
    ----------
    path : the file; polygons are places, points are car parks (property ``kind`` = "car_park", or the map
        tag ``amenity`` = "parking") or known spots (``kind`` = "spot")
    home : (longitude, latitude) of the household, to tell swapped coordinates
    places : places already known, so that a file of spots alone finds its woods

    Returns
    -------
    Reading with Place, CarPark and Spot records in the order of the file. A place without the property
    ``permission`` gets status unknown and a note: scouting walks only.

    Raises
    ------
    BadData   when the file as a whole cannot be read

    Fails towards
    -------------
    Unknown permission; "allowed" is refused without ``who`` and ``source``.
    """
    features = read_features(path, home=home)
    problems = list(features.problems)
    records: list[ParkRecord] = []
    spots: list[Feature] = []
    skipped = 0
    for feature in features.records:
        if (car_park := car_park_of(feature)) is not None:
            records.append(car_park)
        elif feature.text("kind") == "spot" and feature.geometry != "Point":
            problems.append(_no_point(feature))
        elif feature.geometry in ("Polygon", "MultiPolygon"):
            _take(_place(feature), records, problems)
        elif feature.text("kind") == "spot":
            spots.append(feature)
        elif feature.geometry == "Point" and feature.properties.get("kind") not in (None, ""):
            problems.append(_strange_kind(feature))
        else:
            skipped += 1
    problems += _twins([r for r in records if isinstance(r, Place)], path.name)
    known = [*(r for r in records if isinstance(r, Place)), *places]
    for feature in spots:
        _take(_spot(feature, known), records, problems)
    return Reading(tuple(records), tuple(problems), _understood(records, skipped))


def _no_point(feature: Feature) -> Problem:
    name = feature.text("name") or "one"
    return Problem(
        f"{name} is said to be a spot and is a {feature.geometry}", feature.where, "a Point",
        "mark the place with a point, or take the kind out",
    )  # fmt: skip


def _strange_kind(feature: Feature) -> Problem:
    """A point that says what it is in a word that is not known: a spot misspelt would be missed for years."""
    name, kind = feature.text("name"), feature.properties["kind"]
    near = get_close_matches(str(kind).casefold().replace(" ", "_"), POINT_KINDS, n=1)
    return Problem(
        f"{name or 'a point'} is of the unknown kind {kind!r}",
        feature.where,
        '"kind": "spot" or "car_park"',
        f'write "{near[0]}" if that is meant'
        if near
        else "correct it, or take the property or the point out",
    )


def _take(found: ParkRecord | list[Problem], records: list[ParkRecord], problems: list[Problem]) -> None:
    if isinstance(found, list):
        problems.extend(found)
    else:
        records.append(found)


def _place(feature: Feature) -> Place | list[Problem]:
    name = feature.text("name")
    if not name:
        return [Problem("the park has no name", feature.where, 'a property "name"')]
    permission = _permission(feature)
    if isinstance(permission, list):
        return permission
    polygons = (feature.coordinates,) if feature.geometry == "Polygon" else feature.coordinates
    if problem := _area_problem(polygons, feature.where):
        return [problem]
    return Place(feature.text("id") or named_id("place", name), name, polygons, permission)


def _area_problem(polygons: tuple[tuple[tuple[LonLat, ...], ...], ...], where: str) -> Problem | None:
    from shapely import is_valid_reason
    from shapely.geometry import Polygon

    for rings in polygons:
        reason = is_valid_reason(Polygon(rings[0], rings[1:]))
        if reason != "Valid Geometry":
            return Problem(
                f"the outline crosses itself or overlaps ({reason})",
                where,
                "rings that do not cross",
                "repair the outline in the map program",
            )
    return None


def _permission(feature: Feature) -> Permission | list[Problem]:
    document: Any = feature.properties.get("permission")
    where = f"{feature.where}, permission"
    if document is None:
        return UNKNOWN
    if isinstance(document, str):  # map programs flatten nested properties to text
        try:
            document = json.loads(document)
        except (ValueError, RecursionError):
            return [Problem("the permission is no object", where, '{"status": "allowed", "who": "…", …}')]
    record, problems = validate_document(PermissionDocument, document, where)
    if record is None:
        return list(problems)
    if record.status == "allowed" and not (record.who and record.source):
        return [
            Problem(
                "gathering is said to be allowed, but not by whom or where that is written",
                where,
                "who and source",
                'fill them in, or set "status": "unknown"',
            )
        ]
    season = None
    if record.season is not None:
        season = (_month_day(record.season[0]), _month_day(record.season[1]))
        if any(day > _MONTH_DAYS[month - 1] for month, day in season):
            return [
                Problem(
                    f"season {record.season} names a day that never comes", where, 'MM-DD such as "09-30"'
                )
            ]
    return Permission(
        record.status,
        record.who,
        record.limit_kg_person_day,
        season,
        record.source,
        record.checked_on,
        record.expires_on,
        record.note,
    )


def _month_day(text: str) -> tuple[int, int]:
    month, day = text.split("-")
    return int(month), int(day)


def _twins(places: list[Place], file: str) -> list[Problem]:
    seen: dict[str, int] = {}
    for place in places:
        seen[place.id] = seen.get(place.id, 0) + 1
    names = {place.id: place.name for place in places}
    return [
        Problem(
            f"{count} parks are called {names[id_]!r}",
            file,
            "one outline for a name (several pieces as MultiPolygon)",
            'name them apart, or give each a property "id"',
        )
        for id_, count in seen.items()
        if count > 1
    ]


def _spot(feature: Feature, places: Sequence[Place]) -> Spot | list[Problem]:
    lon, lat = feature.coordinates
    name, wanted = feature.text("name"), feature.text("place")
    if not name:
        return [Problem("the spot has no name", feature.where, 'a property "name"')]
    place = place_at(lon, lat, places) if not wanted else _called(wanted, places)
    if place is None:
        what = f"there is no place called {wanted!r}" if wanted else "the spot lies in no known place"
        return [
            Problem(what, feature.where, "a place loaded before, or in the same file", "load the place first")
        ]
    diameter = feature.properties.get("diameter_cm")
    if diameter is not None and not (isinstance(diameter, (int, float)) and 0.0 < diameter < 600.0):
        return [
            Problem(f"diameter_cm {diameter!r} is no trunk", feature.where, "a number above 0, below 600")
        ]
    return Spot(
        stable_id("spot", place.id, name.casefold()),
        place.id,
        name,
        lon,
        lat,
        match_host(feature.text("host")),
        None if diameter is None else float(diameter),
        withheld=feature.properties.get("withheld") is True,
    )


def _called(name: str, places: Sequence[Place]) -> Place | None:
    return next((p for p in places if p.id == name or p.name.casefold() == name.casefold()), None)


def _understood(records: Sequence[ParkRecord], skipped: int) -> tuple[str, ...]:
    places = [r for r in records if isinstance(r, Place)]
    unknown = [p.name for p in places if p.permission.status == "unknown"]
    car_parks = sum(isinstance(r, CarPark) for r in records)
    lines = [
        f"{counted(len(places), 'place')}, {counted(car_parks, 'car park')}, "
        f"{counted(len(records) - len(places) - car_parks, 'spot')}"
    ]
    if unknown:
        lines.append(f"permission unknown, so scouting only: {', '.join(unknown)}")
    if skipped:
        lines.append(
            f"{counted(skipped, 'feature')} left aside: neither an area nor a point that says whether "
            'it is a spot or a car park ("kind": "spot" or "car_park")'
        )
    return tuple(lines)
