"""From a posed problem to the walk that is shown: solved for its goal, in time with its load, explained."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from underoak.desk.walk_plan import Outing, PlannedWalk, plan_of
from underoak.desk.walk_problem import DAY_PACK_KG
from underoak.desk.walk_search import WalkSearch
from underoak.walk.problem import usable_kg, with_kg

if TYPE_CHECKING:
    from underoak.desk.walk_problem import Posed
    from underoak.walk.growing_load import Carrier
    from underoak.walk.problem import WalkProblem
    from underoak.walk.robust import Goal, Promise

#: Body mass taken for an adult and a child [kg]. Common practice, no source.
ADULT_KG, CHILD_KG = 70.0, 35.0
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
    """The planned walk of a problem: solved for its goal, in time with its growing basket, explained.

    Raises NoAnswer when what must be seen cannot be seen in time.
    """
    from underoak.walk.growing_load import loaded, pace_share
    from underoak.walk.left_out import left_out

    problem, carriers = posed.problem, carriers_of(outing)
    search = WalkSearch(outing.wish, problem, carriers, clock, tell)
    promises: tuple[Promise, ...] = ()
    if outing.rule.allowed:
        result, promises = search.shown()
        timed, pace = (
            loaded(problem, result, carriers, DAY_PACK_KG),
            pace_share(carriers, result.kg, DAY_PACK_KG),
        )
    else:
        result = timed = search.solve(problem)
        pace = 1.0
    timed = replace(timed, left_out=left_out(problem, result, problem.minutes - timed.minutes))
    notes = posed.notes
    if outing.rule.allowed:
        notes = (
            *notes,
            *_sight_range(posed, result.gathered),
            *_on_average(promises, outing.wish.goal),
        )
    plan = plan_of(
        outing, problem, timed, pace=pace, promises=promises, notes=notes, book_version=book_version
    )
    room = problem.kitchen_kg if math.isfinite(problem.kitchen_kg) else None
    plan = replace(plan, prizes_mark=mark_of(problem), kitchen_kg=room)
    return PlannedWalk(plan, outing.ground, problem, timed, posed.ground_mark, pace, posed.taxon_ids)


def carriers_of(outing: Outing) -> tuple[Carrier, ...]:
    """The party as carriers: adults with a day pack, children with none."""
    from underoak.walk.growing_load import Carrier

    return tuple(
        Carrier(
            0.0 if person.child else DAY_PACK_KG, person.carries_kg, CHILD_KG if person.child else ADULT_KG
        )
        for person in outing.party
    )


def _on_average(promises: Sequence[Promise], goal: Goal) -> tuple[str, ...]:
    """What comes home on average, where bag, kitchen or a limit cut the good days and not the poor ones."""
    own = next(one for one in promises if one.goal == goal)
    if own.expected_kg - own.home_kg < LEAST_RANGE_KG:
        return ()
    words = "What may be taken cuts the good days, not the poor ones: on average"
    most = max(one.home_kg for one in promises)
    other = f"; {most:.2f} kg on another of the walks above" if most - own.home_kg >= LEAST_RANGE_KG else ""
    return (f"{words} {own.home_kg:.2f} kg come home{other}.",)


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
    return (
        f"With a shorter or longer sight from the trail this walk would promise {low:.2f} to {high:.2f} kg.",
    )
