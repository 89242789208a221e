"""No plan of several walks brings more than this."""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from underoak.walk.several import Slot, best_places, key_of

if TYPE_CHECKING:
    from underoak.walk.problem import Prize, WalkProblem
    from underoak.walk.result import WalkResult

#: Walks to the same place that are bounded together, at most.
MOST_JOINED = 6
#: Slots, by their positions, that go to one place.
Group = tuple[str, tuple[int, ...]]


def bound_several(
    slots: Sequence[Slot],
    problems: Mapping[tuple[Slot, str], WalkProblem],
    alone: Mapping[tuple[Slot, str], WalkResult],
    solver: Callable[[WalkProblem], WalkResult],
    kitchen_kg: Mapping[int, float],
    *,
    most_joined: int = MOST_JOINED,
) -> float:
    """Kilograms that no plan of one walk in each slot exceeds.

    Parameters
    ----------
    slots, problems, alone, kitchen_kg : as in `underoak.walk.several.plan_several`; only the bounds of
        ``alone`` are used
    solver : plans one walk with its bound
    most_joined : how many times walks to one place are bounded together

    Method
    ------
    A walk never brings more than its own bound, since walks before it only take away: the sum of the
    bounds holds for an assignment of places to slots. Walks to the same place one after the other are
    also one walk with all their minutes, bags and limits, on which each prize pays once, with its largest
    kilograms; its bound is tighter than the sum. Assignments are taken highest bound first, and the walks
    of the first that are not yet bounded together are, until the first needs no more of it. What the
    kitchen takes on all days is never exceeded.
    """
    single = {key: result.bound_kg for key, result in alone.items()}
    bounds: dict[Group, float] = {
        (place, (k,)): single[slot, place] for k, slot in enumerate(slots) for place in _places(single, slot)
    }
    choices = best_places(slots, single)
    heap = [(-_sum(groups, bounds), groups) for groups in _assignments(choices)]
    heapq.heapify(heap)
    joined = 0
    while True:
        told, groups = heap[0]
        now = -_sum(groups, bounds)
        if now > told + 1e-12:
            heapq.heapreplace(heap, (now, groups))
            continue
        group = next((one for one in groups if one not in bounds), None)
        if group is None or joined == most_joined:
            break
        joined += 1
        place, members = group
        both = joined_problem([(slots[k], problems[slots[k], place]) for k in members], kitchen_kg)
        bounds[group] = min(solver(both).bound_kg, _apart(group, bounds))
    most = max(-told, _elsewhere(slots, single, choices))
    return min(most, sum(kitchen_kg.values()))


def _places(single: Mapping[tuple[Slot, str], float], slot: Slot) -> list[str]:
    return [place for one, place in single if one == slot]


def _assignments(choices: Sequence[Sequence[str]]) -> list[tuple[Group, ...]]:
    """Every way to give the slots their places, as groups of slots that go to one place."""
    found = []
    for chosen in itertools.product(*(mine or [""] for mine in choices)):
        goers: dict[str, tuple[int, ...]] = {}
        for k, place in enumerate(chosen):
            if place:
                goers[place] = (*goers.get(place, ()), k)
        found.append(tuple(goers.items()))
    return found


def _apart(group: Group, bounds: Mapping[Group, float]) -> float:
    place, members = group
    return sum(bounds[place, (k,)] for k in members)


def _sum(groups: Sequence[Group], bounds: Mapping[Group, float]) -> float:
    return sum(bounds.get(group, _apart(group, bounds)) for group in groups)


def _elsewhere(
    slots: Sequence[Slot], single: Mapping[tuple[Slot, str], float], choices: Sequence[Sequence[str]]
) -> float:
    """What no assignment exceeds that sends a slot to a place left out of its choices."""
    best = [max((single[slot, p] for p in _places(single, slot)), default=0.0) for slot in slots]
    most = -math.inf
    for k, (slot, mine) in enumerate(zip(slots, choices, strict=True)):
        others = [single[slot, p] for p in _places(single, slot) if p not in mine]
        if others:
            most = max(most, sum(best) - best[k] + max(others))
    return most


def joined_problem(walks: Sequence[tuple[Slot, WalkProblem]], kitchen_kg: Mapping[int, float]) -> WalkProblem:
    """Walks to one place, one after the other, as one walk that pays each prize once.

    Minutes, bags and limits add up; each arc takes the least minutes of any walk, each prize the most
    kilograms and the least minutes. All walks begin and end at one node of the same graph.
    """
    problems = [problem for _, problem in walks]
    first = problems[0]
    graph = replace(
        first.graph,
        forward_min=np.min([p.graph.forward_min for p in problems], axis=0),
        backward_min=np.min([p.graph.backward_min for p in problems], axis=0),
    )
    prizes: dict[str, Prize] = {}
    for problem in problems:
        for position, prize in enumerate(problem.prizes):
            old = prizes.setdefault(key_of(problem, position), prize)
            best = replace(prize, kg=max(prize.kg, old.kg), minutes=min(prize.minutes, old.minutes))
            prizes[key_of(problem, position)] = best
    room = {slot.day: kitchen_kg[slot.day] for slot, _ in walks}
    return replace(
        first,
        graph=graph,
        prizes=tuple(prizes.values()),
        minutes=sum(problem.minutes for problem in problems),
        carry_kg=sum(problem.carry_kg for problem in problems),
        kitchen_kg=sum(room.values()),
        place_limit_kg=tuple(
            sum(limits) for limits in zip(*(p.place_limit_kg for p in problems), strict=True)
        ),
        must_see=frozenset(),
    )
