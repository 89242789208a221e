"""Write down a wood, a spot or a car park by hand, where no file has it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import cos, pi, sin

from underoak.book.hosts import host_groups
from underoak.errors import BadData
from underoak.intake.stable_id import named_id, stable_id
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.places import places, spots, store_car_parks, store_places, store_spots
from underoak.model.ground import CarPark, Permission, PermissionStatus, Place, Spot
from underoak.model.problem import Problem
from underoak.settings import Home

#: Corners of a wood of which only the middle and the reach are known.
_CORNERS = 32
#: Names a spot may give for what it stands on: hosts of the book, or not known.
UNKNOWN_HOST = "unknown"


@dataclass(frozen=True, slots=True)
class PlaceNote:
    """A wood as a person tells it: its middle and how far it reaches, and who allows gathering."""

    name: str
    longitude_deg: float
    latitude_deg: float
    reach_m: float
    status: PermissionStatus = "unknown"
    who: str = ""
    limit_kg_person_day: float | None = None
    source: str = ""


@dataclass(frozen=True, slots=True)
class SpotNote:
    """A tree, log or patch as a person tells it. ``place`` is the id of a known place."""

    place: str
    name: str
    longitude_deg: float
    latitude_deg: float
    host_group: str = UNKNOWN_HOST
    diameter_cm: float | None = None


def note_place(home: Home, note: PlaceNote, *, today: date) -> Place:
    """Store a wood with a round outline.

    Raises BadData with every fault; a name that is known already is one of them.
    """
    from underoak.woods.geodesy import metres_per_degree

    problems = [*_name_faults(note.name), *_position_faults(note.longitude_deg, note.latitude_deg)]
    if not 20.0 <= note.reach_m <= 20_000.0:
        problems.append(Problem(f"it reaches {note.reach_m:g} m", "reach", "20 to 20000 m from its middle"))
    if note.limit_kg_person_day is not None and not 0.0 < note.limit_kg_person_day <= 1000.0:
        problems.append(Problem(f"a limit of {note.limit_kg_person_day:g} kg", "limit", "more than 0 kg"))
    if note.status == "allowed" and not note.who.strip():
        problems.append(Problem("it is not said who allows it", "who", "the owner, office or rule"))
    connection = open_ledger(home.ledger)
    try:
        if note.name.strip().casefold() in {place.name.casefold() for place in places(connection)}:
            problems.append(Problem(f"{note.name!r} is known already", "name", "another name"))
        if problems:
            raise BadData(problems)
        east_m, north_m = (float(length) for length in metres_per_degree(note.latitude_deg))
        ring = [
            (
                note.longitude_deg + note.reach_m * cos(turn) / east_m,
                note.latitude_deg + note.reach_m * sin(turn) / north_m,
            )
            for turn in (2.0 * pi * corner / _CORNERS for corner in range(_CORNERS))
        ]
        permission = Permission(
            note.status, note.who.strip(), note.limit_kg_person_day, source=note.source, checked_on=today
        )
        name = note.name.strip()
        place = Place(named_id("place", name), name, (((*ring, ring[0]),),), permission)
        with writing(connection):
            store_places(connection, [place])
    finally:
        connection.close()
    return place


def note_spot(home: Home, note: SpotNote) -> Spot:
    """Store a spot of a known place.

    Raises BadData with every fault; a name that the place has already is one of them.
    """
    problems = [*_name_faults(note.name), *_position_faults(note.longitude_deg, note.latitude_deg)]
    if note.diameter_cm is not None and not 0.0 < note.diameter_cm <= 500.0:
        problems.append(Problem(f"a trunk of {note.diameter_cm:g} cm", "trunk", "more than 0 to 500 cm"))
    if note.host_group not in (UNKNOWN_HOST, *host_names()):
        problems.append(Problem(f"{note.host_group!r} is no host", "host", "one of the list"))
    connection = open_ledger(home.ledger)
    try:
        if note.place not in {place.id for place in places(connection)}:
            problems.append(Problem("the wood is not known", "wood", "one of your woods"))
        name = note.name.strip()
        taken = {s.name.casefold() for s in spots(connection) if s.place_id == note.place}
        if name.casefold() in taken:
            problems.append(Problem(f"{name!r} is known there already", "name", "another name"))
        if problems:
            raise BadData(problems)
        spot = Spot(
            stable_id("spot", note.place, name.casefold()),
            note.place,
            name,
            note.longitude_deg,
            note.latitude_deg,
            note.host_group,
            note.diameter_cm,
        )
        with writing(connection):
            store_spots(connection, [spot])
    finally:
        connection.close()
    return spot


def note_car_park(home: Home, name: str, longitude_deg: float, latitude_deg: float) -> CarPark:
    """Store where a walk may start; BadData with every fault."""
    problems = [*_name_faults(name), *_position_faults(longitude_deg, latitude_deg)]
    if problems:
        raise BadData(problems)
    park = CarPark(named_id("car-park", name.strip()), name.strip(), longitude_deg, latitude_deg)
    connection = open_ledger(home.ledger)
    try:
        with writing(connection):
            store_car_parks(connection, [park])
    finally:
        connection.close()
    return park


def host_names() -> dict[str, str]:
    """Keys of the book's hosts, with their words."""
    return {key: group.words for key, group in host_groups().items()}


def _name_faults(name: str) -> list[Problem]:
    if 1 <= len(name.strip()) <= 80:
        return []
    return [Problem("it has no name", "name", "1 to 80 letters")]


def _position_faults(longitude_deg: float, latitude_deg: float) -> list[Problem]:
    problems = []
    if not -180.0 <= longitude_deg <= 180.0:
        problems.append(Problem(f"longitude {longitude_deg:g}", "longitude", "-180 to 180 degrees"))
    if not -66.0 <= latitude_deg <= 66.0:
        problems.append(Problem(f"latitude {latitude_deg:g}", "latitude", "-66 to 66 degrees"))
    return problems
