"""Where nothing more can be brought home, nobody walks farther than that needs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from underoak.errors import NoAnswer
from underoak.walk.closure import within_reach
from underoak.walk.problem import usable_kg

if TYPE_CHECKING:
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import WalkResult

#: Tries to find a shorter walk, and how near to the shortest is near enough [min].
TRIES, NEAR_MIN = 7, 2.0
#: Walks that bring so much less are not alike [kg].
ALIKE_KG = 1e-6


def is_full(problem: WalkProblem, result: WalkResult) -> bool:
    """Whether no longer walk can bring more: all within reach is gathered, or as much as may be taken."""
    return result.kg >= usable_kg(problem, within_reach(problem)) - ALIKE_KG


def shortest_enough(
    problem: WalkProblem,
    result: WalkResult,
    again: Callable[[WalkProblem, float], WalkResult],
    *,
    tries: int = TRIES,
) -> WalkResult:
    """The shortest walk met that brings as much as one that is full; any other walk as it is.

    ``again`` searches a walk for a problem and may stop at so many kilograms.

    Method: halving the minutes between such as are too few and those of the shortest walk so far. Bound
    and proof stay: they are about kilograms, not about minutes.
    """
    if not result.legs or not is_full(problem, result):
        return result
    short, best = 0.0, result
    for _ in range(tries):
        if best.minutes - short < NEAR_MIN:
            break
        minutes = (short + best.minutes) / 2.0
        try:
            walk = again(replace(problem, minutes=minutes), result.kg)
        except NoAnswer:
            short = minutes
            continue
        if walk.kg >= result.kg - ALIKE_KG:
            best = walk
        else:
            short = minutes
    return replace(best, kg=result.kg, bound_kg=result.bound_kg, gap=result.gap, proved=result.proved)
