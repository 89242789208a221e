"""The basket grows on the way, and the one who carries most sets the pace."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from underoak.errors import NoAnswer
from underoak.walk.problem import usable_kg
from underoak.walk.result import gap_of, legs_of
from underoak.walk.travel_time import load_speed_share

if TYPE_CHECKING:
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import Step, WalkResult

#: Tries to find a walk that is still in time with its load.
TRIES = 6
#: A walk counts as in time when it is no later than this [min].
IN_TIME = 1e-6
#: The time to solve for is not sought more closely than this [min].
NEAR_MIN = 1.0


@dataclass(frozen=True, slots=True)
class Carrier:
    """One walker: what they carry from the start, can take on top, and weigh [kg]."""

    pack_kg: float
    carries_kg: float
    body_kg: float = 70.0


def pace_share(carriers: Sequence[Carrier], basket_kg: float, reference_kg: float) -> float:
    """Speed with ``basket_kg`` shared out, as a share of the speed with ``reference_kg`` and no basket.

    Everybody takes a part in proportion to what they can carry; the slowest sets the pace.
    """
    able = sum(carrier.carries_kg for carrier in carriers)
    shares = []
    for carrier in carriers:
        part = basket_kg * carrier.carries_kg / able if able > 0.0 else 0.0
        loaded = load_speed_share(carrier.pack_kg + part, carrier.body_kg)
        shares.append(loaded / load_speed_share(reference_kg, carrier.body_kg))
    return min([1.0, *shares])


def loaded(
    problem: WalkProblem, result: WalkResult, carriers: Sequence[Carrier], reference_kg: float
) -> WalkResult:
    """The walk as it is really walked: its edges were timed at ``reference_kg``, the basket fills leg by leg.

    Every leg begins and lasts as the load lets it; the kilograms stay, ``minutes`` may exceed the problem's.
    """
    basket = sum(problem.prizes[p].kg for p in result.at_start)
    clock = sum(problem.prizes[p].minutes for p in result.at_start)
    legs = []
    for leg in result.legs:
        walk_min = leg.walk_min / pace_share(carriers, basket, reference_kg)
        legs.append(replace(leg, begins_min=clock, walk_min=walk_min))
        clock += walk_min + leg.stop_min
        basket += sum(problem.prizes[p].kg for p in leg.prizes)
    return replace(result, legs=tuple(legs), minutes=clock)


def loaded_minutes(
    problem: WalkProblem, result: WalkResult, carriers: Sequence[Carrier], reference_kg: float
) -> float:
    """Minutes of a walk with its growing basket."""
    return loaded(problem, result, carriers, reference_kg).minutes


def solve_loaded(
    problem: WalkProblem,
    carriers: Sequence[Carrier],
    reference_kg: float,
    solver: Callable[[WalkProblem], WalkResult],
    again: Callable[[WalkProblem], WalkResult],
    *,
    worth: Callable[[WalkResult], float] = lambda result: result.kg,
) -> tuple[WalkResult, float]:
    """The best walk met that is in time with its growing load, and its loaded minutes.

    ``solver`` makes the first plan with its bound, ``again`` those in less time, which need none; ``worth``
    is what a walk is chosen by. Where no walk met is in time, the one that is least late is handed back.

    Method: the first walk stands where it is in time. Else the minutes it is solved for are searched by
    halving between such as come in time and such as come late; the first walk turned round, which carries
    its load less far or farther, and the first walk with its poorest stops left out are tried too. The
    bound stays that of the first solution: a load never makes a walk quicker.
    """
    first = solver(problem)

    def late(walk: WalkResult) -> float:
        return loaded_minutes(problem, walk, carriers, reference_kg) - problem.minutes

    if late(first) <= IN_TIME:
        return first, late(first) + problem.minutes
    met = [first, *_in_less_time(problem, first, again, late), *turned(problem, first)]
    met += _lightened(problem, met[0], late)
    best = max(
        met, key=lambda walk: (late(walk) <= IN_TIME, worth(walk) if late(walk) <= IN_TIME else -late(walk))
    )
    gap = 1.0 if math.isinf(first.bound_kg) else gap_of(best.kg, first.bound_kg)
    best = replace(best, bound_kg=first.bound_kg, gap=gap, proved=gap <= 1e-6)
    return best, late(best) + problem.minutes


def _in_less_time(
    problem: WalkProblem,
    first: WalkResult,
    again: Callable[[WalkProblem], WalkResult],
    late: Callable[[WalkResult], float],
) -> list[WalkResult]:
    """Walks solved for less time than there is, nearer and nearer to being just in time."""
    found = []
    short, long = 0.0, problem.minutes
    minutes = max(problem.minutes - 1.25 * late(first), 0.5 * problem.minutes)
    for _ in range(TRIES):
        try:
            walk = again(replace(problem, minutes=minutes))
        except NoAnswer:
            short = minutes
        else:
            found.append(walk)
            short, long = (minutes, long) if late(walk) <= IN_TIME else (short, minutes)
        if long - short < NEAR_MIN:
            break
        minutes = (short + long) / 2.0
    return found


def turned(problem: WalkProblem, result: WalkResult) -> list[WalkResult]:
    """The same loop the other way round, where every trail may be walked so; none else."""
    if problem.start != problem.finish or not result.legs:
        return []
    graph = problem.graph
    steps = [(leg.edge, not leg.forward) for leg in reversed(result.legs)]
    if not all(
        math.isfinite((graph.forward_min if ahead else graph.backward_min)[edge]) for edge, ahead in steps
    ):
        return []
    return [_relaid(problem, result, steps, list(result.gathered))]


def _lightened(
    problem: WalkProblem, result: WalkResult, late: Callable[[WalkResult], float]
) -> list[WalkResult]:
    """The same way with its poorest stops left out, until it is in time."""
    steps = [(leg.edge, leg.forward) for leg in result.legs]
    kept = sorted(result.gathered, key=lambda p: problem.prizes[p].kg / max(problem.prizes[p].minutes, 1e-9))
    spare = [p for p in kept if p not in problem.must_see]
    for number in range(1, len(spare) + 1):
        gone = set(spare[:number])
        walk = _relaid(problem, result, steps, [p for p in kept if p not in gone])
        if late(walk) <= IN_TIME:
            return [walk]
    return []


def _relaid(problem: WalkProblem, result: WalkResult, steps: list[Step], prizes: list[int]) -> WalkResult:
    legs, at_start, minutes = legs_of(problem, steps, prizes)
    return replace(
        result, legs=legs, at_start=at_start, minutes=minutes, gathered=tuple(sorted(prizes)),
        kg=usable_kg(problem, prizes),
    )  # fmt: skip
