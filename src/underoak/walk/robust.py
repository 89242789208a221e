"""Choices beside the average: something for the children, or the best of a poor day."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from underoak.walk.problem import usable_kg

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.walk.problem import Prize, WalkProblem
    from underoak.walk.result import WalkResult

    FloatArray = npt.NDArray[np.float64]

Goal = Literal["expected", "something", "poor_day"]
#: Share of the spread between spots that a common season explains. Judgement, no source.
COMMON = 0.3
DRAWS = 1000
#: A poor day: one in five is worse.
POOR = 0.2
#: How much the walks tried for a poor day lean towards what is likely.
LEVELS = (0.25, 0.5, 1.0, 2.0)
#: No chance counts as surer than this.
SUREST = 0.999


@dataclass(frozen=True, slots=True)
class Promise:
    """What one walk may bring: average, chance of at least one prime find, and the spread [kg].

    ``expected_kg`` is what limits let through of the average, ``home_kg`` the average of what they let
    through day by day: they cut good days, not poor ones, so it may be less.
    """

    goal: Goal
    expected_kg: float
    something: float
    poor_kg: float
    middle_kg: float
    good_kg: float
    home_kg: float = math.nan


def _chances(problem: WalkProblem) -> FloatArray:
    raw = [0.5 if math.isnan(p.chance) else p.chance for p in problem.prizes]
    return np.asarray(np.clip(np.array(raw, dtype=float), 0.0, SUREST))


def towards(problem: WalkProblem, goal: Goal, level: float = 0.5) -> WalkProblem:
    """The problem with the prizes that lead to a goal.

    Method: the chance of at least one find among independent spots is 1 - prod(1 - p), so -log(1 - p)
    adds up along a walk and its best walk is exact. For a poor day each prize is weighed by its chance to
    the power of ``level``: what is likely counts more than what is heavy.
    """
    chance = _chances(problem)
    if goal == "expected":
        return problem
    if goal == "poor_day":
        worth = [p.kg * float(c) ** level for p, c in zip(problem.prizes, chance, strict=True)]
        return replace(problem, prizes=_worth(problem, worth))
    free = tuple(math.inf if limit > 0.0 else 0.0 for limit in problem.place_limit_kg)
    prizes = _worth(
        problem,
        [-math.log1p(-float(c)) if p.kg > 0.0 else 0.0 for p, c in zip(problem.prizes, chance, strict=True)],
    )
    return replace(problem, prizes=prizes, carry_kg=math.inf, kitchen_kg=math.inf, place_limit_kg=free)


def _worth(problem: WalkProblem, worth: Sequence[float]) -> tuple[Prize, ...]:
    return tuple(replace(p, kg=float(w)) for p, w in zip(problem.prizes, worth, strict=True))


def promise(problem: WalkProblem, result: WalkResult, goal: Goal, *, seed: int) -> Promise:
    """What a walk may bring, over `DRAWS` draws in which spots share a part of their luck.

    Method: one-factor normal copula; a prize is there when its normal falls below the quantile of its
    chance, and then weighs its expectation divided by its chance. ``home_kg`` is the sum of the expectations
    less what the limits cut on average over the draws: without limits it does not depend on them.
    """
    from scipy.special import ndtri

    mine = list(result.gathered)
    chance = _chances(problem)[mine]
    kg = np.array([problem.prizes[p].kg for p in mine], dtype=float)
    rng = np.random.default_rng(seed)
    common = rng.standard_normal((DRAWS, 1))
    own = rng.standard_normal((DRAWS, len(mine)))
    there = math.sqrt(COMMON) * common + math.sqrt(1.0 - COMMON) * own < ndtri(np.maximum(chance, 1e-12))
    heavy = there * np.divide(kg, chance, out=np.zeros_like(kg), where=chance > 0.0)
    place = np.array([problem.prizes[p].place for p in mine], dtype=np.int64)
    limits = np.array(problem.place_limit_kg)
    total = np.zeros(DRAWS)
    for k, limit in enumerate(limits):
        total += np.minimum(heavy[:, place == k].sum(axis=1), limit)
    total = np.minimum(total, problem.bag_kg)
    cut = float((heavy.sum(axis=1) - total).mean())
    low, middle, high = (float(q) for q in np.quantile(total, (POOR, 0.5, 1.0 - POOR)))
    average = usable_kg(problem, mine)
    home = min(max(float(kg.sum()) - cut, 0.0), average)
    something = float(there.any(axis=1).mean()) if mine else 0.0
    return Promise(goal, average, something, low, middle, high, home)


def value_of(problem: WalkProblem, result: WalkResult, goal: Goal, *, seed: int) -> float:
    """What walks of one goal are compared by: kilograms, the chance of anything, or those of a poor day.

    The expected kilograms decide between walks that are alike. The result may be that of a problem which
    leads to another goal.
    """
    if goal == "expected":
        return round(usable_kg(problem, list(result.gathered)), 5)
    told = promise(problem, result, goal, seed=seed)
    return (told.something if goal == "something" else told.poor_kg) + 1e-6 * told.expected_kg


def choose(
    problem: WalkProblem, goal: Goal, solver: Callable[[WalkProblem], WalkResult], *, seed: int = 0
) -> WalkResult:
    """The walk for a goal.

    "expected" and "something" are searched for directly. No problem that adds up leads to the best poor
    day, so the best of a few walks is taken that lean towards what is likely to different degrees
    (`LEVELS`), with the walks of the other two goals among them: a good one, but none that is proved best.
    The result's kilograms are those of the original problem; a bound is kept for the expected goal only.
    """
    led = {"expected": [problem], "something": [towards(problem, "something")], "poor_day": []}[goal]
    if goal == "poor_day":
        led = [problem, towards(problem, "something")]
        led += [towards(problem, "poor_day", level) for level in LEVELS]
    walks = [_recounted(problem, solver(one), goal) for one in led]
    return max(walks, key=lambda walk: value_of(problem, walk, goal, seed=seed))


def _recounted(problem: WalkProblem, result: WalkResult, goal: Goal) -> WalkResult:
    if goal == "expected":
        return result
    kg = usable_kg(problem, list(result.gathered))
    return replace(result, kg=kg, bound_kg=math.inf, gap=1.0, proved=False)
