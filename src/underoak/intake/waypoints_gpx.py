"""Spots and finds from the waypoints of a GPX file."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import get_args
from zoneinfo import ZoneInfo

from underoak.book.hosts import match_host
from underoak.errors import BadData
from underoak.intake.diary import Diary
from underoak.intake.gpx import Point, read_gpx
from underoak.intake.inside import place_at
from underoak.intake.reading import Reading
from underoak.intake.stable_id import stable_id
from underoak.intake.table import Row
from underoak.model.ground import LonLat, Place, Spot
from underoak.model.problem import Problem
from underoak.model.quantities import counted
from underoak.model.visits import FlushStage, Visit

_WEIGHT = re.compile(r"(\d+(?:[.,]\d+)?)\s*(kg|g|lb|lbs|oz)\b", re.IGNORECASE)
_GRAMS = {"kg": 1000.0, "g": 1.0, "lb": 453.59237, "lbs": 453.59237, "oz": 28.349523125}
_SPLIT = re.compile(r"[,;:()]| - ")


def read_gpx_waypoints(
    path: Path,
    *,
    places: Sequence[Place],
    spots: Sequence[Spot],
    taxon_id_of: Callable[[str], str | None],
    today: date,
    timezone: str,
    home: LonLat | None = None,
) -> Reading[tuple[Spot | Visit, ...]]:
    """Spots of a file's waypoints, and the finds they tell of.

    Parameters
    ----------
    path : GPX file
    places : a waypoint belongs to the place whose outline holds it
    spots, taxon_id_of, today : as for `visits.read_visits`
    timezone : of the household, because waypoints carry world time
    home : (longitude, latitude), to tell swapped coordinates

    Returns
    -------
    Reading with new Spot records, then Visit records. Every named waypoint is a spot. It is a find too when
    name, comment, description or type together hold a name the book knows *and* a stage (young, prime,
    past), and the waypoint has a time; a weight such as "850 g" or "2 lb" is taken along. Otherwise it stays
    a spot: no stage is guessed.

    Raises
    ------
    BadData   when the file as a whole cannot be read or holds no waypoint
    """
    gpx = read_gpx(path, home=home)
    if not gpx.waypoints and not gpx.problems:
        raise BadData(
            [Problem("there is no waypoint in it", path.name, "waypoints", "load tracks as trails")]
        )
    diary = Diary(places, spots, taxon_id_of, today)
    diary.problems += gpx.problems
    alone: dict[str, Spot] = {}
    for where, point in gpx.waypoints:
        place = place_at(*point.lonlat, places)
        if not point.name:
            diary.problems.append(Problem("the waypoint has no name", where, "a name"))
        elif place is None:
            what = f"{point.name!r} lies in no known place"
            diary.problems.append(
                Problem(what, where, "a waypoint inside a place", "load the place's outline first")
            )
        elif (row := _row(where, point, place, _day(point.time, timezone), diary)) is not None:
            diary.take(row)
        elif (place.id, point.name.casefold()) not in diary.spots:
            spot = _spot(point, place)
            alone[spot.id] = spot
    fresh = {spot.id for spot in diary.new_spots}
    only = tuple(spot for spot in alone.values() if spot.id not in fresh)
    visits = diary.visits()
    finds = sum(len(visit.finds) for visit in visits)
    news = counted(len(only) + len(fresh), "new spot")
    understood = f"{counted(len(gpx.waypoints), 'waypoint')}: {news}, {counted(finds, 'find')}"
    return Reading((*only, *diary.new_spots, *visits), tuple(diary.problems), (understood,))


def _spot(point: Point, place: Place) -> Spot:
    lon, lat = point.lonlat
    own = stable_id("spot", place.id, point.name.casefold())
    return Spot(own, place.id, point.name, lon, lat, match_host(f"{point.name} {point.words}"))


def _row(where: str, point: Point, place: Place, day: date | None, diary: Diary) -> Row | None:
    """The waypoint as a row of the visits table, or None when it tells of no find."""
    text = ", ".join(part for part in (point.name, point.words, point.kind) if part)
    taxon = next(
        (part.strip() for part in _SPLIT.split(text) if part.strip() and diary.taxon_id_of(part.strip())), ""
    )
    stage = next((s for s in get_args(FlushStage) if re.search(rf"\b{s}\b", text, re.IGNORECASE)), "")
    if not (taxon and stage and day):
        return None
    weight = _WEIGHT.search(text)
    grams = float(weight[1].replace(",", ".")) * _GRAMS[weight[2].casefold()] if weight else None
    cells = {
        "date": day.isoformat(),
        "place": place.id,
        "spot": point.name,
        "searched": "look",
        "taxon": taxon,
        "stage": stage,
        "fresh_g": "" if grams is None else f"{grams:.1f}",
        "note": point.words,
        "latitude": str(point.lonlat[1]),
        "longitude": str(point.lonlat[0]),
        "host": f"{point.name} {point.words}",
    }
    return Row(0, where, cells)


def _day(time: str, timezone: str) -> date | None:
    try:
        moment = datetime.fromisoformat(time)
    except ValueError:
        return None
    return moment.astimezone(ZoneInfo(timezone)).date() if moment.tzinfo else moment.date()
