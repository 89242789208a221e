"""A place inside another: what may be gathered where both lie."""

from __future__ import annotations

from contextlib import closing
from dataclasses import replace

import pytest

from tests.unit.test_plan_walk import ALLOWED, DAY, WISH, at, fill
from underoak.desk.plan_walk import outing_of
from underoak.desk.walk_limits import Limits, limits_of
from underoak.desk.walk_overlap import where_allowed
from underoak.desk.walk_plan import WalkWish
from underoak.errors import NoAnswer
from underoak.intake.tree_features import area_m2
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.ground import store_host_patches
from underoak.ledger.places import store_places
from underoak.model.ground import HostPatch, Permission, Place
from underoak.settings import Home

FORBIDDEN = Permission(status="forbidden", who="Invented Reserve")


def square(name: str, permission: Permission, low: float, high: float) -> Place:
    ring = (at(low, low), at(high, low), at(high, high), at(low, high), at(low, low))
    return Place(name.casefold(), name, ((ring,),), permission)


def limits(home: Home, *places: Place, wish: WalkWish = WISH) -> Limits:
    with closing(open_ledger(home.ledger)) as connection:
        with writing(connection):
            store_places(connection, places)
        outing = outing_of(connection, home.settings, wish, DAY)
        return where_allowed(connection, outing, limits_of(outing.ground, wish))


def test_nothing_is_picked_in_a_reserve_inside_the_wood(home: Home) -> None:
    """The reserve holds the spot, the last of nine trees and a part of the patch."""
    fill(home)
    with closing(open_ledger(home.ledger)) as connection, writing(connection):
        patch = HostPatch("oaks", "oaks", square("x", ALLOWED, 500, 700).polygons, "white_oak", 40.0)
        store_host_patches(connection, [patch])
    free = limits(home)
    held = limits(home, square("Core", FORBIDDEN, 590, 1000))
    assert len(free.ground.trees) == 9
    gone = {tree.id for tree in free.ground.trees} - {tree.id for tree in held.ground.trees}
    assert gone == {"t8"}
    assert held.ground.spots == ()
    (left,) = held.ground.patches
    assert area_m2(left.polygons) == pytest.approx(40_000.0 - 110.0**2, rel=0.01)
    (note,) = held.notes
    assert note.startswith("Core overlaps with Invented Wood, and there gathering is forbidden")
    with pytest.raises(NoAnswer, match="far oak lies in Core, and there gathering is forbidden"):
        limits(home, wish=replace(WISH, must_see=("far oak",)))


def test_of_two_patches_of_one_host_the_smaller_counts(home: Home) -> None:
    """A map says 10 oaks on a hectare, a note 60 on a tenth of it; beeches stand beside both."""
    fill(home)
    kinds = (("map", "white_oak", 10.0, 500), ("note", "white_oak", 60.0, 300), ("beech", "beech", 5.0, 500))
    with closing(open_ledger(home.ledger)) as connection, writing(connection):
        store_host_patches(
            connection,
            [
                HostPatch(k, k, square("x", ALLOWED, 200, high).polygons, group, ha)
                for k, group, ha, high in kinds
            ],
        )
    areas = {p.id: area_m2(p.polygons) for p in limits(home).ground.patches}
    assert areas["note"] == pytest.approx(100.0**2, rel=0.01)
    assert areas["map"] == pytest.approx(300.0**2 - 100.0**2, rel=0.01)
    assert areas["beech"] == pytest.approx(300.0**2, rel=0.01)


def test_a_larger_place_and_one_that_allows_take_nothing_away(home: Home) -> None:
    fill(home)
    land = square("Land", Permission(status="unknown"), -5000, 5000)
    inner = square("Inner", ALLOWED, 500, 1000)
    beside = square("Beside", FORBIDDEN, 1400, 1500)
    whole = limits(home, land, inner, beside)
    assert len(whole.ground.trees) == 9
    assert len(whole.ground.spots) == 1
    assert whole.notes == ()


def test_a_permission_that_lapses_takes_every_host_of_that_place(home: Home) -> None:
    """The inner place is as large as the wood and its permission has run out: nothing is left to pick."""
    fill(home)
    ended = replace(ALLOWED, expires_on=DAY.replace(year=2025))
    none = limits(home, square("Twin", ended, -100, 1300))
    assert [len(one) for one in (none.ground.trees, none.ground.spots, none.ground.patches)] == [0, 0, 0]
