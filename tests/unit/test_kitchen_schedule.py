"""Plans for invented kitchens: no rule broken, as good as the bound says, more of anything never worse."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from tests.unit.generated_kitchens import EVENING, OTHER, WILD, Case, generated, hours_of, kind
from tests.unit.schedule_checker import kept_g, violations
from underoak.book.methods import load_methods
from underoak.errors import UserMistake
from underoak.kitchen.bound import without_the_clock
from underoak.kitchen.capacity import capacity_kg
from underoak.kitchen.improve import improved
from underoak.kitchen.problem import kitchen_problem
from underoak.kitchen.schedule import as_schedule, schedule
from underoak.kitchen.solve import best, quick, quick_bound
from underoak.kitchen.wishes import Busy, Hours, Wishes
from underoak.model.household import Kitchen
from underoak.model.kitchen import Lot, VerdictState


def small(*, lots: Any = None, kitchen: Any = None, **more: Any) -> Case:
    """One kind, three kilograms, one cook for two hours."""
    case = Case(
        lots=lots or (Lot("L0", "kind_0", "confirmed", 3000.0, EVENING - timedelta(hours=4)),),
        taxa={"kind_0": kind("kind_0", parboil=True)},
        kitchen=kitchen or Kitchen(burners=2, pots=2, pans=1, dryer_trays=4),
        hours=hours_of([("Ann", 0.0, 2.5), ("Ann", 16.0, 18.0)]),
        wishes=Wishes(eaters=2, known=frozenset(["kind_0"])),
    )
    return replace(case, **more)


@pytest.mark.parametrize("seed", range(12))
def test_the_quick_plan_breaks_no_rule(seed: int) -> None:
    case = generated(seed)
    assert violations(case, schedule(case.problem(), wishes=case.wishes, seconds=0)) == []


@pytest.mark.parametrize("seed", range(100, 103))
def test_the_best_plan_breaks_no_rule_and_is_never_below_the_quick_one(seed: int) -> None:
    case = generated(seed, lots=(2, 4), total_kg=(2.0, 6.0))
    problem = case.problem()
    choice = best(problem, seconds=4.0)
    assert violations(case, as_schedule(problem, choice, case.wishes)) == []
    assert choice.value >= quick(problem).value
    assert choice.bound is not None
    assert choice.value <= choice.bound + 1e-9
    assert choice.gap is not None
    assert 0.0 <= choice.gap < 1.0


@pytest.mark.parametrize(("burners", "trays"), [(1, 4), (2, 0), (3, 8)])
def test_refilling_alone_comes_near_a_proven_optimum(burners: int, trays: int) -> None:
    problem = small(kitchen=Kitchen(burners=burners, pots=2, pans=1, dryer_trays=trays)).problem()
    optimum = best(problem, seconds=60.0, enough_gap=1e-6)
    assert optimum.gap is not None
    assert optimum.gap < 1e-5
    refilled = problem.value(improved(problem, quick(problem).chosen, rounds=400))
    assert refilled >= 0.97 * optimum.value
    assert refilled >= quick(problem).value


def test_a_plan_without_time_for_a_proof_still_has_a_true_bound() -> None:
    case = generated(101, lots=(2, 4), total_kg=(2.0, 6.0))
    hurried = best(case.problem(), seconds=0.01)
    longer = best(case.problem(), seconds=1.5)
    assert hurried.bound is not None
    assert hurried.gap is not None
    assert longer.value <= hurried.bound + 1e-9


@pytest.mark.parametrize(("burners", "trays"), [(1, 0), (2, 4), (3, 8)])
def test_the_evening_without_its_clock_bounds_the_proven_optimum(burners: int, trays: int) -> None:
    problem = small(kitchen=Kitchen(burners=burners, pots=2, pans=1, dryer_trays=trays)).problem()
    optimum = best(problem, seconds=60.0, enough_gap=1e-6)
    assert quick_bound(problem, seconds=5.0) >= optimum.value - 1e-6
    assert len(without_the_clock(problem).runs) < len(problem.runs)


def test_the_checker_sees_what_is_broken() -> None:
    case = generated(101, lots=(2, 4), total_kg=(2.0, 6.0))
    plan = schedule(case.problem(), wishes=case.wishes, seconds=0)
    assert len(plan.tasks) > 1
    task = plan.tasks[0]
    early = replace(task, steps=tuple(replace(s, start=s.start - timedelta(hours=3)) for s in task.steps))
    heavy = replace(task, fresh_g=task.fresh_g + 5000.0)
    nobody = replace(task, steps=tuple(replace(s, people=()) for s in task.steps))
    canned = replace(task, method_id="pressure_can_cultivated")
    twice = (*plan.tasks, *plan.tasks)
    for broken in ([early], [heavy], [nobody], [canned], twice):
        assert violations(case, replace(plan, tasks=tuple(broken))) != []


def test_the_same_kitchen_gives_the_same_plan() -> None:
    case = small()
    one, two = (schedule(case.problem(), seconds=10.0, seed=3) for _ in range(2))
    assert one == two


@pytest.mark.parametrize(
    "more",
    [
        {"kitchen": Kitchen(burners=3, pots=2, pans=1, dryer_trays=4)},
        {"kitchen": Kitchen(burners=2, pots=3, pans=2, dryer_trays=4)},
        {"kitchen": Kitchen(burners=2, pots=2, pans=1, dryer_trays=8)},
        {"kitchen": Kitchen(burners=2, pots=2, pans=1, dryer_trays=4, freezer_load_kg_day=9.0)},
        {"hours": hours_of([("Ann", 0.0, 3.5), ("Ann", 16.0, 18.0)])},
        {"hours": hours_of([("Ann", 0.0, 2.5), ("Ben", 1.0, 2.0), ("Ann", 16.0, 18.0)])},
    ],
)
def test_more_time_or_equipment_is_never_worth_less(more: dict[str, Any]) -> None:
    less = best(small().problem(), seconds=20.0, enough_gap=1e-6)
    most = best(small(**more).problem(), seconds=20.0, enough_gap=1e-6)
    assert less.gap is not None
    assert less.gap < 1e-5
    assert most.value >= less.value - 1e-6


@pytest.mark.parametrize("state", ["refused", "open", None])
def test_without_a_verdict_nothing_is_planned_but_setting_aside(state: Any) -> None:
    case = small(lots=(Lot("L0", "kind_0", state, 3000.0, EVENING),))
    plan = schedule(case.problem(), seconds=0)
    assert plan.tasks == ()
    assert [(rest.goes, rest.fresh_g) for rest in plan.leftovers] == [("set_aside", 3000.0)]


def test_a_kind_the_book_does_not_hold_as_gathered_is_set_aside() -> None:
    taxon = kind("kind_0").model_copy(update={"gathered": False})
    plan = schedule(small(taxa={"kind_0": taxon}).problem(), seconds=0)
    assert plan.tasks == ()
    assert plan.leftovers[0].goes == "set_aside"


def test_canning_is_planned_for_bought_mushrooms_only() -> None:
    everything = kind("kind_0", WILD + OTHER + ("pressure_can_cultivated", "marinate_cultivated"))
    wishes = Wishes(liking={"pressure_can_cultivated": 5.0, "marinate_cultivated": 5.0}, canners=1)
    wild = small(taxa={"kind_0": everything}, wishes=wishes)
    bought = small(lots=(replace(wild.lots[0], state=None, cultivated=True),), taxa={}, wishes=wishes)
    wild_methods = {t.method_id for t in schedule(wild.problem(), seconds=2.0).tasks}
    assert wild_methods
    assert wild_methods.isdisjoint({"pressure_can_cultivated", "marinate_cultivated"})
    assert {t.method_id for t in schedule(bought.problem(), seconds=2.0).tasks} & {
        "pressure_can_cultivated",
        "marinate_cultivated",
    }


def test_a_lot_whose_time_is_over_is_left() -> None:
    old = Lot("L0", "kind_0", "confirmed", 3000.0, EVENING - timedelta(hours=40))
    plan = schedule(small(lots=(old,)).problem(), seconds=0)
    assert plan.tasks == ()
    assert plan.leftovers[0].goes == "leave"


def test_only_confirmed_lots_are_given_away() -> None:
    nobody = Kitchen(burners=0, pots=0, pans=0, dryer_trays=0, fridge_free_l=0.0)
    goes = {}
    states: tuple[VerdictState, ...] = ("confirmed", "consistent")
    for state in states:
        lots = (Lot("L0", "kind_0", state, 3000.0, EVENING),)
        plan = schedule(
            small(lots=lots, kitchen=nobody).problem(), wishes=Wishes(give_to=("Dee",)), seconds=0
        )
        goes[state] = plan.leftovers[0]
    assert goes["confirmed"].goes == "give_away"
    assert "Dee" in goes["confirmed"].reason
    assert goes["consistent"].goes == "leave"


def test_one_new_kind_alone_and_a_small_portion() -> None:
    lots = tuple(Lot(f"L{n}", f"kind_{n}", "confirmed", 2000.0, EVENING) for n in range(3))
    taxa = {f"kind_{n}": kind(f"kind_{n}", ("cook_tonight",)) for n in range(3)}
    plan = schedule(small(lots=lots, taxa=taxa, wishes=Wishes(eaters=2)).problem(), seconds=2.0)
    assert len({t.taxon_id for t in plan.tasks}) == 1
    assert kept_g(plan.tasks) <= 120.0


def test_bought_mushrooms_are_no_new_kind() -> None:
    bought = Lot("L0", "kind_0", None, 2000.0, EVENING, cultivated=True)
    only_eat = {k: m for k, m in load_methods().items() if k == "cook_tonight"}
    problem = kitchen_problem(
        [bought],
        taxa={},
        methods=only_eat,
        kitchen=Kitchen(),
        hours=small().hours,
        now=EVENING,
        wishes=Wishes(eaters=2),
    )
    assert sum(t.fresh_g for t in schedule(problem, seconds=0).tasks) >= 500.0


def test_trays_still_in_use_are_not_planned_again() -> None:
    case = small(taxa={"kind_0": kind("kind_0", ("dry",))})
    free = schedule(case.problem(), seconds=0)
    assert [t.method_id for t in free.tasks] == ["dry"]
    taken = kitchen_problem(
        case.lots,
        taxa=case.taxa,
        methods=load_methods(),
        kitchen=case.kitchen,
        hours=case.hours,
        now=EVENING,
        busy=[Busy("tray", 4, EVENING + timedelta(hours=30))],
    )
    assert schedule(taken, seconds=0).tasks == ()


def test_capacity_shrinks_with_what_is_there_and_grows_with_the_kitchen() -> None:
    case = small()
    common: dict[str, Any] = {
        "taxa": case.taxa,
        "methods": load_methods(),
        "hours": case.hours,
        "now": EVENING,
        "taxon_id": "kind_0",
    }
    alone = capacity_kg(case.kitchen, **common)
    after = capacity_kg(case.kitchen, case.lots, **common)
    bigger = capacity_kg(Kitchen(burners=2, pots=2, pans=1, dryer_trays=8), **common)
    assert 0.0 < after < alone <= bigger < 30.0
    assert capacity_kg(case.kitchen, **{**common, "taxon_id": "nothing"}) == 0.0


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"lots": (Lot("L0", "kind_0", "confirmed", -5.0, EVENING),)}, "weighs -5 g"),
        ({"lots": (Lot("L0", "kind_0", "confirmed", 0.0, EVENING),)}, "weighs 0 g"),
        ({"lots": (Lot("L0", "kind_0", "confirmed", 9.0, EVENING + timedelta(hours=1)),)}, "after the clock"),
        ({"lots": (Lot("A", "kind_0", "confirmed", 9.0, EVENING),) * 2}, "twice"),
        ({"hours": (Hours("Ann", EVENING, EVENING - timedelta(hours=1)),)}, "from 17:00 to 16:00"),
        ({"hours": ()}, "nobody is in the kitchen"),
    ],
)
def test_impossible_hauls_and_clocks_are_refused_with_the_reason(change: dict[str, Any], words: str) -> None:
    with pytest.raises(UserMistake, match=words):
        small(**change).problem()
