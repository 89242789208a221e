"""Several walks in one plan: which place on which day with which car, no prize paid twice."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from underoak.errors import NoAnswer

if TYPE_CHECKING:
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import WalkResult

    Solver = Callable[[WalkProblem], WalkResult]

#: Assignments that are planned in full, and as many more as are tried where something must be seen.
TRIED, MOST_TRIED = 4, 16
#: What a second walk in the same place is worth beside the first, for ranking only. Judgement.
AGAIN = 0.5
#: More assignments than this are not ranked: each slot then keeps its best places only.
MOST_ASSIGNMENTS = 20_000


@dataclass(frozen=True, slots=True)
class Slot:
    """One walk to be given out: position of its day and of its car."""

    day: int
    car: int


@dataclass(frozen=True, slots=True)
class Given:
    """A walk given to a slot: its problem is what the walks before it leave, with what it has to visit."""

    slot: Slot
    place: str
    problem: WalkProblem
    result: WalkResult


def plan_several(
    slots: Sequence[Slot],
    problems: Mapping[tuple[Slot, str], WalkProblem],
    alone: Mapping[tuple[Slot, str], WalkResult],
    solver: Solver,
    kitchen_kg: Mapping[int, float],
) -> tuple[Given, ...]:
    """The combination of places that brings most, one place for each slot.

    Parameters
    ----------
    slots : walks to give out
    problems : (slot, place) -> the walk there. A place that is missing for a slot cannot be gone to. What
        a problem must see has to be seen on one of the walks to its place, no matter which
    alone : the best walk of each problem by itself, nothing that must be seen asked of it
    solver : plans one walk
    kitchen_kg : day -> what the kitchen takes on that day, shared by all cars of the day

    Raises NoAnswer when no combination tried visits all that must be seen.

    Method: every assignment of places to slots is weighed with the kilograms each place brings alone;
    the most promising are planned slot after slot, and what one walk gathers no later walk finds there.
    What must be seen is seen by the first walk to its place that has the time. Each walk is the best for
    its turn, so the whole is a lower bound of the best team plan; `several_bound` gives the upper one.
    """
    wanted = {place for (_, place), problem in problems.items() if problem.must_see}
    plans: list[tuple[Given, ...]] = []
    for chosen in itertools.islice(_ranked(slots, alone, wanted), MOST_TRIED if wanted else TRIED):
        plan = _given(slots, chosen, problems, solver, kitchen_kg)
        if plan is not None:
            plans.append(plan)
        if len(plans) == TRIED:
            break
    if not plans:
        raise NoAnswer(
            "no walks in this time visit everything that must be seen",
            remedy="allow more hours, days or cars, or ask for less",
        )
    return max(plans, key=lambda plan: sum(one.result.kg for one in plan))


def key_of(problem: WalkProblem, position: int) -> str:
    """What a prize is, the same in all problems of one place."""
    return problem.prizes[position].key or str(position)


def best_places(
    slots: Sequence[Slot], worth: Mapping[tuple[Slot, str], float], always: Iterable[str] = ()
) -> list[list[str]]:
    """The places worth going to in each slot, best first: all, or as many as can be combined."""
    most = max(int(MOST_ASSIGNMENTS ** (1.0 / max(len(slots), 1))), 2)
    always = set(always)
    chosen = []
    for slot in slots:
        mine = sorted((p for s, p in worth if s == slot), key=lambda p: (-worth[slot, p], p))
        chosen.append(mine[:most] + [place for place in mine[most:] if place in always])
    return chosen


def _ranked(
    slots: Sequence[Slot], alone: Mapping[tuple[Slot, str], WalkResult], wanted: set[str]
) -> list[tuple[str, ...]]:
    """Assignments that go to every wanted place, the most promising first; "" is a slot that stays home."""
    worth = {key: result.kg for key, result in alone.items()}
    choices = [mine or [""] for mine in best_places(slots, worth, wanted)]
    fit = (chosen for chosen in itertools.product(*choices) if wanted <= set(chosen))
    return sorted(fit, key=lambda chosen: (-_promise(slots, chosen, worth), chosen))


def _promise(slots: Sequence[Slot], chosen: Sequence[str], worth: Mapping[tuple[Slot, str], float]) -> float:
    total, visits = 0.0, dict.fromkeys(chosen, 0)
    for slot, place in zip(slots, chosen, strict=True):
        total += worth.get((slot, place), 0.0) * AGAIN ** visits[place]
        visits[place] += 1
    return total


def _given(
    slots: Sequence[Slot],
    chosen: Sequence[str],
    problems: Mapping[tuple[Slot, str], WalkProblem],
    solver: Solver,
    kitchen_kg: Mapping[int, float],
) -> tuple[Given, ...] | None:
    """The walks of one assignment, slot after slot; None when something that must be seen is not."""
    gone: dict[str, set[str]] = {}
    room = dict(kitchen_kg)
    plan = []
    unseen = _wanted(problems)
    for slot, place in zip(slots, chosen, strict=True):
        problem = problems.get((slot, place))
        if problem is None:
            continue
        taken = gone.setdefault(place, set())
        left = left_of(problem, taken, room[slot.day])
        left, result = _seeing(left, unseen[place], solver)
        taken |= {key_of(left, p) for p in result.gathered}
        unseen[place] -= taken
        room[slot.day] = max(room[slot.day] - result.kg, 0.0)
        plan.append(Given(slot, place, left, result))
    return None if any(unseen.values()) else tuple(plan)


def _wanted(problems: Mapping[tuple[Slot, str], WalkProblem]) -> dict[str, set[str]]:
    wanted: dict[str, set[str]] = {}
    for (_, place), problem in problems.items():
        wanted.setdefault(place, set()).update(key_of(problem, p) for p in problem.must_see)
    return wanted


def left_of(problem: WalkProblem, taken: Iterable[str], room_kg: float) -> WalkProblem:
    """The problem with what was taken paying nothing and without its name, under what room the kitchen has.

    ``taken`` holds keys of prizes (`key_of`). Nothing that must be seen is asked of it.
    """
    taken = set(taken)
    prizes = tuple(
        replace(prize, kg=0.0, name="") if key_of(problem, k) in taken else prize
        for k, prize in enumerate(problem.prizes)
    )
    return replace(problem, prizes=prizes, kitchen_kg=min(problem.kitchen_kg, room_kg), must_see=frozenset())


def _seeing(problem: WalkProblem, unseen: set[str], solver: Solver) -> tuple[WalkProblem, WalkResult]:
    """The walk that sees all of ``unseen``; where the time is too short, as many as go together."""
    must = frozenset(p for p in range(len(problem.prizes)) if key_of(problem, p) in unseen)
    if result := _tried(problem, must, solver):
        return replace(problem, must_see=must), result
    best = problem, solver(problem)
    some: frozenset[int] = frozenset()
    for position in sorted(must) if len(must) > 1 else ():
        if result := _tried(problem, some | {position}, solver):
            some |= {position}
            best = replace(problem, must_see=some), result
    return best


def _tried(problem: WalkProblem, must: frozenset[int], solver: Solver) -> WalkResult | None:
    try:
        return solver(replace(problem, must_see=must))
    except NoAnswer:
        return None
