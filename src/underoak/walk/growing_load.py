"""The basket grows on the way, and the one who carries most sets the pace."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from underoak.walk.result import gap_of
from underoak.walk.travel_time import load_speed_share

if TYPE_CHECKING:
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import WalkResult

#: Tries to find a walk that is still in time with its load.
TRIES = 4


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


def loaded_minutes(
    problem: WalkProblem, result: WalkResult, carriers: Sequence[Carrier], reference_kg: float
) -> float:
    """Minutes of a walk whose edges were timed at ``reference_kg``, as the basket fills leg by leg."""
    basket = sum(problem.prizes[p].kg for p in result.at_start)
    minutes = sum(problem.prizes[p].minutes for p in result.at_start)
    for leg in result.legs:
        minutes += leg.walk_min / pace_share(carriers, basket, reference_kg) + leg.stop_min
        basket += sum(problem.prizes[p].kg for p in leg.prizes)
    return minutes


def solve_loaded(
    problem: WalkProblem,
    carriers: Sequence[Carrier],
    reference_kg: float,
    solver: Callable[[WalkProblem], WalkResult],
    again: Callable[[WalkProblem], WalkResult],
) -> tuple[WalkResult, float]:
    """A walk that is in time with its growing load, and its loaded minutes.

    ``solver`` makes the first plan with its bound, ``again`` the shorter ones, which need none.

    Method: solve without the growth; where the load makes the walk late, solve again with so much less
    time, then with a quarter more each try. The bound stays that of the first solution: a load never
    makes a walk quicker. **Fails towards** a shorter walk.
    """
    result = first = solver(problem)
    minutes = loaded_minutes(problem, result, carriers, reference_kg)
    cut = 0.0
    for _ in range(TRIES):
        if minutes <= problem.minutes + 1e-6:
            break
        cut = max(1.25 * cut, cut + minutes - problem.minutes)
        result = again(replace(problem, minutes=problem.minutes - cut))
        minutes = loaded_minutes(problem, result, carriers, reference_kg)
    if result is not first:
        gap = gap_of(result.kg, first.bound_kg)
        result = replace(result, bound_kg=first.bound_kg, gap=gap, proved=gap <= 1e-6)
    return result, minutes
