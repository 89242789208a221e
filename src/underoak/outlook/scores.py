"""How good forecasts of yes or no were."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.intp]

#: Edges of the reliability table: chances are small, so the bins are not even.
EDGES = (0.0, 0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 1.0)
#: Resamplings of whole seasons for an interval.
RESAMPLES = 1000


@dataclass(frozen=True, slots=True)
class ReliabilityBin:
    """Forecasts between two chances: how many, their mean, and the share that came true."""

    low: float
    high: float
    forecasts: int
    mean_chance: float
    share_true: float


@dataclass(frozen=True, slots=True)
class Interval:
    """A mean over seasons with the bounds of its 90 % interval."""

    low: float
    mean: float
    high: float


def log_scores(chance: FloatArray, true: BoolArray) -> FloatArray:
    """Natural logarithm of the chance given to what happened; 0 is perfect, lower is worse."""
    scores: FloatArray = np.where(true, np.log(chance), np.log1p(-chance))
    return scores


def brier(chance: FloatArray, true: BoolArray) -> float:
    """Mean squared difference between chance and truth (Brier 1950, from memory)."""
    return float(np.mean((chance - true) ** 2))


def reliability(chance: FloatArray, true: BoolArray) -> tuple[ReliabilityBin, ...]:
    """Forecasts sorted into bins of their chance; empty bins are left out."""
    which = np.clip(np.searchsorted(EDGES, chance, side="right") - 1, 0, len(EDGES) - 2)
    return tuple(
        ReliabilityBin(
            EDGES[b],
            EDGES[b + 1],
            int((which == b).sum()),
            float(chance[which == b].mean()),
            float(true[which == b].mean()),
        )
        for b in np.unique(which).tolist()
    )


def calibration(chance: FloatArray, true: BoolArray) -> tuple[float, float]:
    """Intercept and slope of the truth on the logit of the chance: 0 and 1 for a well calibrated forecast.

    Method
    ------
    Logistic regression (cox_1958, from memory) by Newton's steps, halved while they lead uphill. A ridge
    towards 0 and 1 (deviation 10) keeps it finite where forecasts part truths without overlap.
    """
    logit = np.log(chance) - np.log1p(-chance)
    design = np.column_stack([np.ones_like(logit), logit])
    usual, ridge = np.array([0.0, 1.0]), 0.01
    beta = usual.copy()

    def loss(b: FloatArray) -> float:
        z = design @ b
        return float(np.logaddexp(0.0, z).sum() - z @ true + 0.5 * ridge * ((b - usual) ** 2).sum())

    for _ in range(100):
        p = 1.0 / (1.0 + np.exp(-np.clip(design @ beta, -500.0, 500.0)))
        slope = design.T @ (true - p) - ridge * (beta - usual)
        curvature = (design * (p * (1.0 - p))[:, None]).T @ design + ridge * np.eye(2)
        step = np.linalg.solve(curvature, slope)
        while loss(beta + step) > loss(beta) and np.abs(step).max() > 1e-12:
            step = 0.5 * step
        beta = beta + step
        if np.abs(step).max() < 1e-10:
            break
    return float(beta[0]), float(beta[1])


def season_bootstrap(values: FloatArray, weights: FloatArray, seed: int) -> Interval:
    """Interval of sum(values)/sum(weights) when whole seasons are drawn again.

    ``values``, ``weights`` (seasons,): the sum of a score over each season, and its number of visits.
    With one season there is nothing to draw from; the bounds are then infinite.
    """
    mean = float(values.sum() / weights.sum())
    if len(values) < 2:
        return Interval(-np.inf, mean, np.inf)
    rng = np.random.default_rng(seed)
    drawn = rng.integers(0, len(values), (RESAMPLES, len(values)))
    means = values[drawn].sum(axis=1) / weights[drawn].sum(axis=1)
    low, high = np.quantile(means, [0.05, 0.95])
    return Interval(float(low), mean, float(high))
