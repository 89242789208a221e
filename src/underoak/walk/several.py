"""Several walks in one plan: which place on which day with which car, no prize paid twice."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import WalkResult


@dataclass(frozen=True, slots=True)
class Slot:
    """One walk to be given out: position of its day and of its car."""

    day: int
    car: int


@dataclass(frozen=True, slots=True)
class Given:
    """A walk given to a slot. ``bound_kg`` holds for this walk after those before it."""

    slot: Slot
    place: str
    problem: WalkProblem
    result: WalkResult


def plan_several(
    slots: Sequence[Slot],
    problems: Mapping[tuple[Slot, str], WalkProblem],
    solver: Callable[[WalkProblem], WalkResult],
    kitchen_kg: Mapping[int, float],
) -> tuple[Given, ...]:
    """The combination of places that brings most, one place for each slot.

    Parameters
    ----------
    slots : walks to give out
    problems : (slot, place) -> the walk there; the prizes of a place keep their positions from slot to
        slot. A place that is missing for a slot cannot be gone to
    solver : plans one walk
    kitchen_kg : day -> what the kitchen takes on that day, shared by all cars of the day

    Method: every assignment of places to slots is weighed with the kilograms each place brings alone;
    the most promising are planned slot after slot, and what one walk gathers no later walk finds there.
    Each walk is the best for its turn, so the whole is a lower bound of the best team plan.
    """
    places = sorted({place for _, place in problems})
    alone = {key: solver(problem).kg for key, problem in problems.items()}
    ranked = sorted(
        itertools.product(places, repeat=len(slots)),
        key=lambda chosen: (-_promise(slots, chosen, alone), chosen),
    )
    plans = [_given(slots, chosen, problems, solver, kitchen_kg) for chosen in ranked[:TRIED]]
    return max(plans, key=lambda plan: sum(one.result.kg for one in plan))


#: Assignments that are planned in full.
TRIED = 4
#: What a second walk in the same place is worth beside the first, for ranking only. Judgement.
AGAIN = 0.5


def _promise(slots: Sequence[Slot], chosen: Sequence[str], alone: Mapping[tuple[Slot, str], float]) -> float:
    total, visits = 0.0, dict.fromkeys(chosen, 0)
    for slot, place in zip(slots, chosen, strict=True):
        total += alone.get((slot, place), 0.0) * AGAIN ** visits[place]
        visits[place] += 1
    return total


def _given(
    slots: Sequence[Slot],
    chosen: Sequence[str],
    problems: Mapping[tuple[Slot, str], WalkProblem],
    solver: Callable[[WalkProblem], WalkResult],
    kitchen_kg: Mapping[int, float],
) -> tuple[Given, ...]:
    gone: dict[str, set[int]] = {}
    room = dict(kitchen_kg)
    plan = []
    for slot, place in zip(slots, chosen, strict=True):
        problem = problems.get((slot, place))
        if problem is None:
            continue
        taken = gone.setdefault(place, set())
        prizes = tuple(replace(p, kg=0.0) if k in taken else p for k, p in enumerate(problem.prizes))
        left = replace(problem, prizes=prizes, kitchen_kg=min(problem.kitchen_kg, room[slot.day]))
        result = solver(left)
        taken |= set(result.gathered)
        room[slot.day] = max(room[slot.day] - result.kg, 0.0)
        plan.append(Given(slot, place, left, result))
    return tuple(plan)
