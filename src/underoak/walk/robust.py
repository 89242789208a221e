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
#: No chance counts as surer than this.
SUREST = 0.999


@dataclass(frozen=True, slots=True)
class Promise:
    """What one walk may bring: average, chance of at least one prime find, and the spread [kg]."""

    goal: Goal
    expected_kg: float
    something: float
    poor_kg: float
    middle_kg: float
    good_kg: float


def _chances(problem: WalkProblem) -> FloatArray:
    raw = [0.5 if math.isnan(p.chance) else p.chance for p in problem.prizes]
    return np.asarray(np.clip(np.array(raw, dtype=float), 0.0, SUREST))


def towards(problem: WalkProblem, goal: Goal) -> WalkProblem:
    """The problem with the prizes that lead to a goal.

    Method: the chance of at least one find among independent spots is 1 - prod(1 - p), so -log(1 - p)
    adds up along a walk and its best walk is exact. A poor day weighs each prize by its chance: what is
    likely counts more than what is heavy.
    """
    chance = _chances(problem)
    if goal == "expected":
        return problem
    if goal == "poor_day":
        worth = [p.kg * math.sqrt(c) for p, c in zip(problem.prizes, chance, strict=True)]
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
    chance, and then weighs its expectation divided by its chance.
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
    low, middle, high = (float(q) for q in np.quantile(total, (POOR, 0.5, 1.0 - POOR)))
    average = usable_kg(problem, mine)
    return Promise(goal, average, float(there.any(axis=1).mean()) if mine else 0.0, low, middle, high)


def choose(
    problem: WalkProblem, goal: Goal, solver: Callable[[WalkProblem], WalkResult], *, seed: int = 0
) -> tuple[WalkResult, tuple[Promise, ...]]:
    """The walk for a goal, and what the walks of all three goals promise.

    For a poor day the candidate with the best poor day wins, whichever goal it came from. The result's
    kilograms are those of the original problem; a bound is kept for the expected goal only.
    """
    goals: tuple[Goal, ...] = ("expected", "something", "poor_day")
    walks = {g: _recounted(problem, solver(towards(problem, g)), g) for g in goals}
    promises = {g: promise(problem, walk, g, seed=seed) for g, walk in walks.items()}
    best = {
        "expected": "expected",
        "something": max(goals, key=lambda g: (promises[g].something, promises[g].expected_kg)),
        "poor_day": max(goals, key=lambda g: (promises[g].poor_kg, promises[g].expected_kg)),
    }[goal]
    return walks[best], tuple(promises.values())


def _recounted(problem: WalkProblem, result: WalkResult, goal: Goal) -> WalkResult:
    if goal == "expected":
        return result
    kg = usable_kg(problem, list(result.gathered))
    return replace(result, kg=kg, bound_kg=math.inf, gap=1.0, proved=False)
