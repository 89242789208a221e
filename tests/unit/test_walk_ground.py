"""From which car park a walk starts where nobody says so."""

from __future__ import annotations

import pytest

from tests.unit.test_plan_walk import WISH, at, fill, plan
from underoak.desk.walk_ground import WalkGround, walk_ground
from underoak.errors import NoAnswer
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.ground import store_trails
from underoak.ledger.places import store_car_parks
from underoak.model.ground import CarPark, Trail
from underoak.settings import Home

pytestmark = pytest.mark.usefixtures("plain_kitchen")

#: Nearer to the middle of the wood than its lot, with trails that meet no other.
CUT_OFF = {
    "too short to start on": (at(450, 740), [at(440, 745), at(470, 765)]),
    "long, past nothing": (
        at(-200, 600),
        [at(-200, 600), at(-560, 600), at(-560, 900), at(-200, 900), at(-200, 640)],
    ),
}


def with_car_park(home: Home, where: tuple[float, float], trail: list[tuple[float, float]]) -> None:
    fill(home)
    connection = open_ledger(home.ledger)
    with writing(connection):
        store_car_parks(connection, [CarPark("near", "Near lot", *where)])
        store_trails(connection, [Trail("cut off", "Cut off", tuple(trail))])
    connection.close()


def ground_of(home: Home, car_park: str | None = None) -> WalkGround:
    connection = open_ledger(home.ledger)
    try:
        return walk_ground(connection, place=WISH.place, car_park=car_park)
    finally:
        connection.close()


@pytest.mark.parametrize("name", CUT_OFF)
def test_a_nearer_car_park_that_leads_nowhere_is_passed_over_and_told(home: Home, name: str) -> None:
    with_car_park(home, *CUT_OFF[name])
    walk = plan(home, car_park=None, hours=0.4)
    assert walk.plan.car_park == "Lower lot"
    assert walk.plan.kg > 0.0
    (note,) = (note for note in walk.plan.notes if "nearer" in note)
    assert note.startswith("You park at Lower lot: Near lot is nearer, but no trail leads from there")


def test_a_car_park_from_which_nothing_is_reached_is_refused_where_it_is_asked_for(home: Home) -> None:
    with_car_park(home, *CUT_OFF["long, past nothing"])
    with pytest.raises(
        NoAnswer, match="no open trail leads from Near lot to anything known in Invented Wood"
    ):
        plan(home, car_park="near lot")
    (parts,) = (note for note in plan(home, hours=0.4).plan.notes if "parts" in note)
    assert parts.startswith("The trails around fall into 2 parts that do not meet; from Lower lot you reach")


def test_the_nearest_car_park_is_taken_where_something_is_reached_from_it(home: Home) -> None:
    with_car_park(home, at(600, 620), [at(600, 620), at(600, 900)])
    near = ground_of(home)
    assert near.car_park.name == "Near lot"
    assert near.passed_over == ()
    assert ground_of(home, "lower lot").car_park.name == "Lower lot"
