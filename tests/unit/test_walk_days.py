"""Several days: spots to see and to avoid go with their wood, and no sharing out exceeds the bound."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import pytest

from tests.unit.test_plan_walk import ALLOWED, DAY, WISH, at, fill
from tests.unit.test_walk_parts import grid_problem, quick, rough
from underoak.desk.plan_days import DaysPlan, days_lines, plan_days
from underoak.desk.walk_plan import PlannedWalk
from underoak.errors import NoAnswer, UserMistake
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.ground import store_trails, store_trees
from underoak.ledger.places import store_car_parks, store_places, store_spots
from underoak.model.ground import CarPark, Permission, Place, Spot, Trail, Tree
from underoak.settings import Home
from underoak.walk.problem import Prize, WalkProblem
from underoak.walk.several import Slot, plan_several
from underoak.walk.several_bound import bound_several, joined_problem

pytestmark = pytest.mark.usefixtures("plain_kitchen")

EVE = DAY - timedelta(days=1)
EAST = 4000.0


def two_woods(home: Home, second: Permission = ALLOWED) -> None:
    """The invented wood, and a second one with one trail and two oaks four kilometres east of it."""
    fill(home)
    corners = ((EAST - 100, -100), (EAST + 900, -100), (EAST + 900, 300), (EAST - 100, 300))
    ring = tuple(at(*corner) for corner in (*corners, corners[0]))
    connection = open_ledger(home.ledger_path)
    with writing(connection):
        store_places(connection, [Place("east", "East Wood", ((ring,),), second)])
        store_car_parks(connection, [CarPark("east-lot", "East lot", *at(EAST, -20))])
        store_spots(connection, [Spot("e1", "east", "bent oak", *at(EAST + 500, 5), "white_oak", 90.0)])
        store_trails(connection, [Trail("e", "East ride", (at(EAST, 0), at(EAST + 800, 0)))])
        store_trees(
            connection,
            [Tree("te", *at(EAST + 300, 6), "Quercus alba", "white_oak", 70.0, "living")],
        )
    connection.close()


def planned(
    home: Home, days: Sequence[date] = (DAY, DAY + timedelta(days=1)), **changes: object
) -> tuple[DaysPlan, tuple[PlannedWalk, ...]]:
    wish = replace(WISH, place=None, car_park=None, hours=0.6)
    return plan_days(home, replace(wish, **changes), days=days, cars=1, today=EVE)  # type: ignore[arg-type]


def seen(walks: Sequence[PlannedWalk]) -> list[tuple[str, str]]:
    return [(walk.plan.place, spot) for walk in walks for line in walk.plan.turns for spot in line.spots]


def test_a_spot_to_see_is_seen_when_its_wood_is_walked(home: Home) -> None:
    two_woods(home)
    free, _ = planned(home, days=(DAY,))
    assert [walk.place for walk in free.walks] == ["Invented Wood"]
    bound, walks = planned(home, days=(DAY,), must_see=("Bent Oak",))
    assert ("East Wood", "bent oak") in seen(walks)
    assert bound.kg <= free.kg + 1e-6
    assert free.kg <= free.bound_kg
    assert "No other way" in days_lines(free)[1] or "Proved best" in days_lines(free)[1]


def test_what_is_avoided_is_avoided_on_every_walk(home: Home) -> None:
    two_woods(home)
    _, walks = planned(home, avoid=("Row 0", "bent oak"))
    ways = {walk.ground.network.edges[leg.edge].name for walk in walks for leg in walk.result.legs}
    assert ways
    assert "Row 0" not in ways
    assert ("East Wood", "bent oak") not in seen(walks)


@pytest.mark.parametrize(
    ("changes", "error", "words"),
    [
        ({"must_see": ("lost oak",)}, UserMistake, "no spot is called 'lost oak'.*bent oak, far oak"),
        ({"avoid": ("Row 9",)}, UserMistake, "no spot or trail is called 'Row 9'.*East ride"),
        ({"must_see": ("bent oak", "far oak"), "days": (DAY,)}, UserMistake, "lie in 2 woods"),
        ({"must_see": ("far oak",), "hours": 0.4}, NoAnswer, "no walks in this time visit everything"),
        ({"must_see": ("bent oak",), "avoid": ("bent oak",)}, UserMistake, "to be stayed away from"),
        ({"place": "Nowhere"}, UserMistake, "no place is called 'Nowhere'"),
    ],
)
def test_wishes_that_no_day_can_meet_are_told(
    home: Home, changes: dict[str, object], error: type[Exception], words: str
) -> None:
    two_woods(home)
    with pytest.raises(error, match=words):
        planned(home, **changes)  # type: ignore[arg-type]


def test_a_spot_where_nobody_may_gather_is_told_with_the_reason(home: Home) -> None:
    two_woods(home, Permission(status="unknown"))
    plan, _ = planned(home, days=(DAY,))
    assert any("East Wood" in note and "nobody is on record" in note for note in plan.notes)
    with pytest.raises(NoAnswer, match=r"bent|East Wood on 2026-10-03: nobody is on record"):
        planned(home, days=(DAY,), must_see=("bent oak",))


def test_what_must_be_seen_is_spread_over_the_walks_that_have_time_for_it() -> None:
    """Two spots at opposite ends: one walk has the time for one of them, two walks for both."""
    base = grid_problem(side=4, minutes=34.0)
    ends = (Prize(0.1, 1.0, node=3, key="east"), Prize(0.1, 1.0, node=12, key="north"))
    problem = replace(base, prizes=(*base.prizes, *ends))
    wanted = replace(problem, must_see=frozenset({len(base.prizes), len(base.prizes) + 1}))
    room = {0: 99.0, 1: 99.0}
    one, two = [Slot(0, 0)], [Slot(0, 0), Slot(1, 0)]
    alone = {(slot, "wood"): rough(problem) for slot in two}
    given = plan_several(two, {(slot, "wood"): wanted for slot in two}, alone, rough, room)
    assert [len(walk.problem.must_see) for walk in given] == [1, 1]
    assert all(walk.problem.must_see <= set(walk.result.gathered) for walk in given)
    with pytest.raises(NoAnswer, match="everything that must be seen"):
        plan_several(one, {(one[0], "wood"): wanted}, alone, rough, room)


def test_a_prize_that_changes_its_position_pays_once() -> None:
    first = replace(
        grid_problem(), prizes=(Prize(0.1, 1.0, node=1, key="a"), Prize(1.0, 1.0, node=2, key="b"))
    )
    later = replace(first, prizes=(first.prizes[1],))
    slots = [Slot(0, 0), Slot(1, 0)]
    problems = {(slots[0], "wood"): first, (slots[1], "wood"): later}
    alone = {key: rough(problem) for key, problem in problems.items()}
    given = plan_several(slots, problems, alone, rough, {0: 9.0, 1: 9.0})
    assert [walk.result.kg for walk in given] == pytest.approx([1.1, 0.0])


def small(minutes: float, kg: Sequence[float]) -> WalkProblem:
    base = grid_problem(side=3, minutes=minutes)
    prizes = tuple(Prize(one, 1.0, node=node, key=str(node)) for node, one in enumerate(kg))
    return replace(base, prizes=prizes)


@pytest.mark.parametrize("room", [99.0, 1.2])
def test_no_way_to_share_out_the_days_exceeds_the_bound(room: float) -> None:
    """Every assignment of two places to three walks, planned in turn, against the bound."""
    rich = (0.0, 0.4, 0.3, 0.1, 0.9, 0.2, 0.5, 0.8, 0.6)
    slots = [Slot(0, 0), Slot(0, 1), Slot(1, 0)]
    problems = {
        (slot, place): small(22.0 + 4.0 * k, [kg * share for kg in rich])
        for k, slot in enumerate(slots)
        for place, share in (("near", 1.0), ("far", 0.4))
    }
    kitchen = {0: room, 1: 99.0}
    alone = {key: quick(problem) for key, problem in problems.items()}
    bound = bound_several(slots, problems, alone, quick, kitchen)
    loose = bound_several(slots, problems, alone, quick, kitchen, most_joined=0)
    best = 0.0
    for places in itertools.product(("near", "far"), repeat=3):
        fixed = {(s, p): problems[s, p] for s, p in zip(slots, places, strict=True)}
        given = plan_several(slots, fixed, {key: alone[key] for key in fixed}, rough, kitchen)
        best = max(best, sum(one.result.kg for one in given))
    assert best <= bound + 1e-6
    assert bound < loose - 1e-6 or room < 99.0
    assert bound <= 1.35 * best


def test_walks_after_each_other_are_one_longer_walk() -> None:
    slots = [Slot(0, 0), Slot(1, 0)]
    one, two = small(20.0, (0.0, 0.5, 0.2)), small(30.0, (0.0, 0.3, 0.4))
    both = joined_problem([(slots[0], one), (slots[1], two)], {0: 1.0, 1: 2.0})
    assert both.minutes == 50.0
    assert both.kitchen_kg == 3.0
    assert [prize.kg for prize in both.prizes] == [0.0, 0.5, 0.4]
