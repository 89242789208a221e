"""Places with their permission, car parks and spots in the ledger; readers of all ground stand here."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import date

from underoak.errors import BadData
from underoak.ledger.chosen import chosen
from underoak.ledger.connection import Ledger, Row
from underoak.ledger.ground import (
    as_polygons,
    store_terrains,
    store_trails,
    store_trees,
    terrains,
    trails,
    trees,
)
from underoak.model.ground import CarPark, Permission, Place, Spot
from underoak.model.problem import Problem

__all__ = [
    "car_parks",
    "places",
    "spots",
    "store_car_parks",
    "store_places",
    "store_spots",
    "store_terrains",
    "store_trails",
    "store_trees",
    "terrains",
    "trails",
    "trees",
]

_Box = tuple[float, float, float, float]


def store_places(connection: Ledger, records: Iterable[Place]) -> int:
    """Store or update places by id; returns how many rows were new or changed.

    Raises
    ------
    BadData   when a place of the same id stands somewhere else: another park of the same name
    """
    wanted = list(records)
    known = {place.id: place for place in places(connection)}
    problems = [
        _namesake(place) for place in wanted if place.id in known and lie_apart(place, known[place.id])
    ]
    if problems:
        raise BadData(problems)
    changed = [place for place in wanted if known.get(place.id) != place]
    connection.executemany(
        "INSERT INTO place VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO UPDATE SET "
        "name = excluded.name, polygons = excluded.polygons, permission_status = excluded.permission_status, "
        "permission_who = excluded.permission_who, limit_kg_person_day = excluded.limit_kg_person_day, "
        "season_start = excluded.season_start, season_end = excluded.season_end, "
        "permission_source = excluded.permission_source, "
        "permission_checked_on = excluded.permission_checked_on, "
        "permission_expires_on = excluded.permission_expires_on, permission_note = excluded.permission_note",
        [_place_row(place) for place in changed],
    )
    return len(changed)


def _namesake(place: Place) -> Problem:
    return Problem(
        f"another place called {place.name!r} is known, and it lies elsewhere",
        place.name,
        "one outline for each name",
        'rename one of them, or give it its own property "id"',
    )


def lie_apart(a: Place, b: Place) -> bool:
    """Whether two places of one name are two: the boxes round their outlines do not meet."""
    west, south, east, north = _box(a)
    west2, south2, east2, north2 = _box(b)
    return west > east2 or west2 > east or south > north2 or south2 > north


def _box(place: Place) -> _Box:
    points = [point for rings in place.polygons for ring in rings for point in ring]
    lons, lats = [p[0] for p in points], [p[1] for p in points]
    return min(lons), min(lats), max(lons), max(lats)


def _place_row(place: Place) -> tuple[object, ...]:
    permission = place.permission
    start, end = permission.season or (None, None)
    return (
        place.id,
        place.name,
        json.dumps(place.polygons),
        permission.status,
        permission.who,
        permission.limit_kg_person_day,
        start and f"{start[0]:02d}-{start[1]:02d}",
        end and f"{end[0]:02d}-{end[1]:02d}",
        permission.source,
        permission.checked_on and permission.checked_on.isoformat(),
        permission.expires_on and permission.expires_on.isoformat(),
        permission.note,
    )


def places(connection: Ledger) -> list[Place]:
    """All places, by name."""
    return [_place(row) for row in connection.execute("SELECT * FROM place ORDER BY name, id")]


def _place(row: Row) -> Place:
    season = None
    if row["season_start"] and row["season_end"]:
        season = (_month_day(row["season_start"]), _month_day(row["season_end"]))
    return Place(
        row["id"],
        row["name"],
        as_polygons(row["polygons"]),
        Permission(
            row["permission_status"],
            row["permission_who"],
            row["limit_kg_person_day"],
            season,
            row["permission_source"],
            _day(row["permission_checked_on"]),
            _day(row["permission_expires_on"]),
            row["permission_note"],
        ),
    )


def _month_day(text: str) -> tuple[int, int]:
    return int(text[:2]), int(text[3:])


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def store_car_parks(connection: Ledger, car_parks: Iterable[CarPark]) -> int:
    """Store or update car parks by id; returns how many rows were new or changed."""
    return _upserted(
        connection,
        "INSERT INTO car_park VALUES (?, ?, ?, ?) ON CONFLICT (id) DO UPDATE SET name = excluded.name, "
        "longitude_deg = excluded.longitude_deg, latitude_deg = excluded.latitude_deg "
        "WHERE (car_park.name, car_park.longitude_deg, car_park.latitude_deg) IS NOT "
        "(excluded.name, excluded.longitude_deg, excluded.latitude_deg)",
        ((c.id, c.name, c.longitude_deg, c.latitude_deg) for c in car_parks),
    )


def car_parks(connection: Ledger) -> list[CarPark]:
    """All car parks, by name."""
    rows = connection.execute("SELECT id, name, longitude_deg, latitude_deg FROM car_park ORDER BY name, id")
    return [CarPark(*row) for row in rows]


def store_spots(connection: Ledger, spots: Iterable[Spot]) -> int:
    """Store or update spots by id; returns how many rows were new or changed. Their places must be stored.

    A spot the household has marked as withheld stays so, whatever a later file says.
    """
    return _upserted(
        connection,
        "INSERT INTO spot VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO UPDATE SET "
        "name = excluded.name, longitude_deg = excluded.longitude_deg, latitude_deg = excluded.latitude_deg, "
        "host_group = excluded.host_group, diameter_cm = coalesce(excluded.diameter_cm, spot.diameter_cm), "
        "tree_id = coalesce(excluded.tree_id, spot.tree_id), "
        "withheld = CASE WHEN spot.withheld = 1 THEN 1 ELSE excluded.withheld END "
        "WHERE (spot.name, spot.longitude_deg, spot.latitude_deg, spot.host_group) IS NOT "
        "(excluded.name, excluded.longitude_deg, excluded.latitude_deg, excluded.host_group) "
        "OR spot.diameter_cm IS NOT coalesce(excluded.diameter_cm, spot.diameter_cm) "
        "OR spot.tree_id IS NOT coalesce(excluded.tree_id, spot.tree_id) "
        "OR spot.withheld < excluded.withheld",
        (
            (
                s.id,
                s.place_id,
                s.name,
                s.longitude_deg,
                s.latitude_deg,
                s.host_group,
                s.diameter_cm,
                s.tree_id,
                int(s.withheld),
            )
            for s in spots
        ),
    )


def spots(connection: Ledger) -> list[Spot]:
    """All spots, by place and name."""
    rows = connection.execute("SELECT * FROM spot ORDER BY place_id, name, id")
    return [
        Spot(
            row["id"],
            row["place_id"],
            row["name"],
            row["longitude_deg"],
            row["latitude_deg"],
            row["host_group"],
            row["diameter_cm"],
            row["tree_id"],
            bool(row["withheld"]),
        )
        for row in rows
    ]


def spot_names(connection: Ledger, ids: Iterable[str]) -> dict[str, str]:
    """What these spots are called."""
    rows = chosen(connection, "SELECT id, name FROM spot WHERE id IN (…)", ids)
    return {row["id"]: row["name"] for row in rows}


def _upserted(connection: Ledger, statement: str, rows: Iterable[tuple[object, ...]]) -> int:
    """Run one upsert for all rows; returns how many were new or changed."""
    before = connection.total_changes
    connection.executemany(statement, rows)
    return connection.total_changes - before
