"""What must hold for the plan a household gets when its wishes, its ground or a permission change."""

from __future__ import annotations

from dataclasses import replace
from datetime import time
from itertools import pairwise

import pytest

from tests.unit.test_plan_walk import ALLOWED, fill, plan
from underoak.model.ground import Permission
from underoak.settings import Home

#: Proofs of the small wood close to this share; kilograms are compared within it.
CLOSE = 1e-4


@pytest.fixture(autouse=True)
def one_kitchen(monkeypatch: pytest.MonkeyPatch) -> None:
    """The kitchen's evening is none of this; planning it takes most of the time."""
    monkeypatch.setattr("underoak.desk.walk_problem.kitchen_room", lambda *_: (KITCHEN[0], "The kitchen."))


KITCHEN = [9.0]


def kg(home: Home, **changes: object) -> float:
    return plan(home, **changes).plan.kg


def test_more_time_never_lowers_the_plan(home: Home) -> None:
    fill(home)
    by_hours = [kg(home, hours=hours) for hours in (0.2, 0.3, 0.4)]
    assert by_hours[0] > 0.0
    assert all(more >= less * (1.0 - CLOSE) for less, more in pairwise(by_hours))


def test_more_daylight_never_lowers_the_plan(home: Home) -> None:
    fill(home)
    late, later = (kg(home, hours=0.4, leaves=leaves) for leaves in (time(17, 25), time(17, 35)))
    assert late >= later * (1.0 - CLOSE)
    assert later < kg(home, hours=0.4)


@pytest.mark.parametrize("limit", ["kitchen", "place"])
def test_more_capacity_never_lowers_the_plan(home: Home, limit: str) -> None:
    told = []
    for capacity in (0.03, 0.06, 3.0):
        KITCHEN[0] = capacity if limit == "kitchen" else 9.0
        each = capacity / 3.0 if limit == "place" else 9.0
        fill(home, replace(ALLOWED, limit_kg_person_day=each))
        walk = plan(home, hours=0.5)
        assert walk.plan.kg <= capacity + 1e-9
        told.append((walk.plan.kg, walk.plan.minutes))
    KITCHEN[0] = 9.0
    assert [one for one, _ in told] == sorted(one for one, _ in told)
    assert told[0][1] < told[2][1]  # nobody walks on with a full basket


def test_closing_a_trail_never_raises_the_plan(home: Home) -> None:
    fill(home)
    free = kg(home, hours=0.4)
    assert kg(home, hours=0.4, avoid=("Row 1",)) <= free * (1.0 + CLOSE)
    fill(home, closed="Column 0")
    assert kg(home, hours=0.4) <= free * (1.0 + CLOSE)


@pytest.mark.parametrize("status", ["unknown", "forbidden"])
def test_a_permission_withdrawn_removes_every_gram(home: Home, status: str) -> None:
    fill(home)
    assert kg(home, hours=0.4) > 0.0
    fill(home, Permission(status=status, who="Invented Parks"))  # type: ignore[arg-type]
    walk = plan(home, hours=0.4).plan
    assert walk.kg == walk.bound_kg == 0.0
    assert sum(line.kg for line in walk.turns) == 0.0
    assert walk.promises == ()
    assert walk.left_out == ()
    assert not any(" kg" in note for note in walk.notes)
