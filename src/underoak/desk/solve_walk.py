"""From a posed problem to the walk that is shown: solved for its goal, in time with its load, explained."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from underoak.desk.walk_plan import Outing, PlannedWalk, WalkWish, plan_of
from underoak.desk.walk_problem import DAY_PACK_KG
from underoak.walk.problem import usable_kg, with_kg

if TYPE_CHECKING:
    from underoak.desk.walk_problem import Posed
    from underoak.walk.growing_load import Carrier
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import WalkResult
    from underoak.walk.robust import Promise
    from underoak.walk.solve import Effort

#: Body mass taken for an adult and a child [kg]. Common practice, no source.
ADULT_KG, CHILD_KG = 70.0, 35.0
#: Branches of the proof where no clock decides.
STEADY_NODES = 20
#: A range of kilograms that is narrower is not worth a line [kg].
LEAST_RANGE_KG = 0.05


def mark_of(problem: WalkProblem) -> str:
    """A mark of where every prize lies: the same mark, the same positions."""
    told = "|".join(f"{p.edge},{p.node},{p.key}" for p in problem.prizes)
    return hashlib.sha256(told.encode()).hexdigest()[:16]


def solved(
    outing: Outing,
    posed: Posed,
    *,
    book_version: str,
    clock: Callable[[], float],
    tell: Callable[[Any], None],
) -> PlannedWalk:
    """The planned walk of a problem: solved for its goal, in time with its growing basket, explained."""
    from underoak.walk.growing_load import loaded_minutes, solve_loaded
    from underoak.walk.left_out import left_out
    from underoak.walk.robust import choose
    from underoak.walk.solve import solve

    wish, problem, carriers = outing.wish, posed.problem, carriers_of(outing)
    parts = 1 if wish.goal == "expected" else 3

    def solver(one: WalkProblem) -> WalkResult:
        return solve(one, seed=wish.seed, effort=_effort(wish, parts), clock=clock, tell=tell)

    def shorter(one: WalkProblem) -> WalkResult:
        return solve(one, seed=wish.seed, effort=replace(_effort(wish, 10), prove=False), clock=clock)

    promises: tuple[Promise, ...] = ()
    if not outing.rule.allowed:
        result = solver(problem)
        minutes = result.minutes
    elif wish.goal == "expected":
        result, minutes = solve_loaded(problem, carriers, DAY_PACK_KG, solver, shorter)
        promises = _promises(problem, result, wish.seed, shorter)
    else:
        result, promises = choose(problem, wish.goal, solver, seed=wish.seed)
        minutes = loaded_minutes(problem, result, carriers, DAY_PACK_KG)
        if minutes > problem.minutes:
            cut = replace(problem, minutes=problem.minutes - 1.5 * (minutes - problem.minutes))
            result, promises = choose(cut, wish.goal, shorter, seed=wish.seed)
            result = replace(result, bound_kg=math.inf, gap=1.0, proved=False)
            minutes = loaded_minutes(problem, result, carriers, DAY_PACK_KG)
    result = replace(result, left_out=left_out(problem, result))
    notes = (*posed.notes, *_sight_range(posed, result.gathered))
    plan = plan_of(
        outing, problem, result, minutes=minutes, promises=promises, notes=notes, book_version=book_version
    )
    room = problem.kitchen_kg if math.isfinite(problem.kitchen_kg) else None
    plan = replace(plan, prizes_mark=mark_of(problem), kitchen_kg=room)
    return PlannedWalk(plan, outing.ground, problem, result, posed.ground_mark)


def _promises(
    problem: WalkProblem, result: WalkResult, seed: int, solver: Callable[[WalkProblem], WalkResult]
) -> tuple[Promise, ...]:
    """What the walk may bring, beside the walks of the other two goals, which are only searched."""
    from underoak.walk.robust import Goal, promise, towards

    others: tuple[Goal, ...] = ("something", "poor_day")
    beside = (promise(problem, solver(towards(problem, goal)), goal, seed=seed) for goal in others)
    return (promise(problem, result, "expected", seed=seed), *beside)


def carriers_of(outing: Outing) -> tuple[Carrier, ...]:
    """The party as carriers: adults with a day pack, children with none."""
    from underoak.walk.growing_load import Carrier

    return tuple(
        Carrier(
            0.0 if person.child else DAY_PACK_KG, person.carries_kg, CHILD_KG if person.child else ADULT_KG
        )
        for person in outing.party
    )


def _effort(wish: WalkWish, parts: int) -> Effort:
    """As many rounds as the seconds allow, shared among ``parts``; without seconds a fixed number.

    Without seconds no clock decides, and the same ground gives the same walk on every computer.
    """
    from underoak.walk.solve import Effort

    if math.isinf(wish.seconds):
        return Effort(rounds=wish.rounds, nodes=STEADY_NODES)
    return Effort(rounds=1_000_000, seconds=wish.seconds / parts)


def _sight_range(posed: Posed, gathered: Sequence[int]) -> tuple[str, ...]:
    """What the same walk promises with the shortest and the longest likely sight, where that differs."""
    if not posed.low_kg or not gathered:
        return ()
    low, high = (
        usable_kg(with_kg(posed.problem, kg), list(gathered)) for kg in (posed.low_kg, posed.high_kg)
    )
    low, high = min(low, high), max(low, high)
    if high - low < LEAST_RANGE_KG:
        return ()
    return (f"Seen less or more far from the trail, this walk would promise {low:.2f} to {high:.2f} kg.",)
