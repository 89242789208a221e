"""Ground, visits and reports stored and read back; twice is the same as once."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from underoak.errors import BadData
from underoak.ledger import places, reports, visits
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.ground_records import GroundRecord, store_ground
from underoak.model.ground import CarPark, Permission, Place, Spot, Terrain, Trail, Tree
from underoak.model.visits import Find, Report, Search, Visit

RING = ((-74.51, 41.50), (-74.50, 41.50), (-74.50, 41.51), (-74.51, 41.50))
ALLOWED = Permission(
    "allowed", "office", 2.5, ((9, 1), (11, 30)), "sign", date(2024, 8, 1), date(2025, 8, 1), "n"
)
PLACE = Place("p", "Wood", ((RING,),), ALLOWED)
SPOT = Spot("s", "p", "Old Oak", -74.5, 41.5, "red_oak", 90.0, "t", withheld=True)
GROUND: list[GroundRecord] = [
    SPOT,
    Trail("w", "Ridge", ((-74.5, 41.5), (-74.49, 41.5)), (100.0, 110.5), "dirt", oneway=True, closed=True),
    CarPark("c", "Lot", -74.5, 41.5),
    Tree("t", -74.5, 41.5, "Quercus rubra", "red_oak", 90.0, "living"),
    PLACE,
]
TERRAIN = Terrain("g", "grid", -75.0, 42.0, 0.01, 0.01, np.array([[1.5, np.nan], [3.0, 1234.56]]))
VISIT = Visit(
    "v",
    date(2024, 10, 5),
    "p",
    90.0,
    ("Ada", "Ben"),
    (Search("s", 0.9),),
    (Find("f", "s", "grifola", "prime", 2, 1500.0, "big"),),
    "fog",
)
REPORT = Report(
    "r", date(2024, 10, 1), "Grifola frondosa", "grifola", -74.0, 41.0, 100.0, present=False, source="x"
)


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator[Ledger]:
    connection = open_ledger(tmp_path / "ledger.sqlite3", create=True)
    yield connection
    connection.close()


def test_everything_comes_back_as_it_went_in(ledger: Ledger) -> None:
    with writing(ledger):
        counts = store_ground(ledger, [*GROUND, TERRAIN])
        assert visits.store_visits(ledger, [VISIT]) == 3
        assert reports.store_reports(ledger, [REPORT]) == 1
    assert counts == {"places": 1, "car_parks": 1, "trees": 1, "spots": 1, "trails": 1, "terrains": 1}
    assert places.places(ledger) == [PLACE]
    assert places.car_parks(ledger) == [GROUND[2]]
    assert places.spots(ledger) == [SPOT]
    assert places.trails(ledger) == [GROUND[1]]
    assert places.trees(ledger) == [GROUND[3]]
    (terrain,) = places.terrains(ledger)
    np.testing.assert_allclose(terrain.elevation_m, TERRAIN.elevation_m, atol=1e-4)
    assert visits.visits(ledger) == [VISIT]
    assert visits.find_by_id(ledger, "f") == (VISIT.finds[0], VISIT)
    assert visits.find_by_id(ledger, "none") is None
    assert reports.reports(ledger) == [REPORT]


def test_storing_twice_changes_nothing(ledger: Ledger) -> None:
    for expected in (True, False):
        with writing(ledger):
            counts = store_ground(ledger, [*GROUND, TERRAIN])
            changed = visits.store_visits(ledger, [VISIT]) + reports.store_reports(ledger, [REPORT])
        assert all(bool(count) is expected for count in counts.values())
        assert bool(changed) is expected


def test_a_new_permission_replaces_the_old_one(ledger: Ledger) -> None:
    with writing(ledger):
        store_ground(ledger, GROUND)
        assert places.store_places(ledger, [replace(PLACE, permission=Permission("forbidden"))]) == 1
    assert places.places(ledger)[0].permission == Permission("forbidden")


def test_another_park_of_the_same_name_is_refused(ledger: Ledger) -> None:
    away = tuple((x + 1.0, y) for x, y in RING)
    with writing(ledger):
        store_ground(ledger, GROUND)
    with pytest.raises(BadData, match="lies elsewhere"), writing(ledger):
        places.store_places(ledger, [replace(PLACE, polygons=((away,),))])
    assert places.places(ledger) == [PLACE]


def test_what_is_withheld_stays_withheld_and_what_is_unsaid_stays(ledger: Ledger) -> None:
    with writing(ledger):
        store_ground(ledger, GROUND)
        places.store_spots(ledger, [replace(SPOT, withheld=False, diameter_cm=None, tree_id=None)])
        visits.store_visits(ledger, [VISIT])
        bare = Visit("v", VISIT.day, "p", finds=(Find("f2", "s", "grifola", "past"),))
        assert visits.store_visits(ledger, [bare]) == 1
    assert places.spots(ledger) == [SPOT]
    (visit,) = visits.visits(ledger)
    assert (visit.minutes, visit.people, visit.note) == (90.0, ("Ada", "Ben"), "fog")
    assert visit.searches == (Search("s", 0.9),)
    assert len(visit.finds) == 2


def test_a_find_implies_a_look(ledger: Ledger) -> None:
    with writing(ledger):
        store_ground(ledger, GROUND)
        visits.store_visits(ledger, [replace(VISIT, searches=())])
    assert visits.visits(ledger)[0].searches == (Search("s", 0.6),)


def test_days_bound_what_is_read(ledger: Ledger) -> None:
    with writing(ledger):
        store_ground(ledger, GROUND)
        visits.store_visits(ledger, [VISIT, Visit("w", date(2023, 9, 1), "p")])
        reports.store_reports(ledger, [REPORT])
    assert [v.id for v in visits.visits(ledger)] == ["w", "v"]
    assert [v.id for v in visits.visits(ledger, since=date(2024, 1, 1))] == ["v"]
    assert [v.id for v in visits.visits(ledger, until=date(2024, 1, 1))] == ["w"]
    assert reports.reports(ledger, since=date(2024, 10, 2)) == []
    assert len(reports.reports(ledger, date(2024, 10, 1), date(2024, 10, 1))) == 1


def test_a_visit_to_an_unknown_place_stores_nothing(ledger: Ledger) -> None:
    with pytest.raises(sqlite3.IntegrityError), writing(ledger):
        visits.store_visits(ledger, [VISIT])
    assert visits.visits(ledger) == []
