"""Better plans by taking one apart and filling it again, many times over; for the solver to start from."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from underoak.kitchen.problem import KitchenProblem
from underoak.kitchen.runs import hands_on_hours

_EPS = 1e-6
#: Shares of a plan that are taken out in one round, at least and at most.
_TAKEN_OUT = (0.15, 0.6)
#: How far a round may stray from the best value for its hours of work (spread of the logarithm).
_STRAY = 0.35

Floats = npt.NDArray[np.float64]


class _Tables:
    """A problem as arrays: what each run needs, is worth and costs in hours."""

    def __init__(self, problem: KitchenProblem) -> None:
        rows = sorted({row for run in problem.runs for row in run.needs}, key=str)
        place = {row: number for number, row in enumerate(rows)}
        products = list(problem.worth)
        #: shape (rows, runs): what a run takes of a limit; one line of it is one limit.
        self.needs = np.zeros((len(rows), len(problem.runs)), dtype=np.float32)
        for number, run in enumerate(problem.runs):
            for row, amount in run.needs.items():
                self.needs[place[row], number] = amount
        self.largest = self.needs.max(axis=1)
        self.touched = [np.array([place[row] for row in run.needs]) for run in problem.runs]
        self.limits = np.array([problem.limits.get(row, 0.0) for row in rows], dtype=np.float32)
        self.product = np.array([products.index(problem.product_of(run)) for run in problem.runs])
        self.size: Floats = np.array([run.size_kg for run in problem.runs])
        self.trouble: Floats = np.array([run.trouble for run in problem.runs])
        self.hours: Floats = np.array([hands_on_hours(run.placed) for run in problem.runs])
        self.per_kg: Floats = np.array([problem.worth[p].per_kg for p in products])
        self.enough: Floats = np.array([problem.worth[p].enough_kg for p in products])
        kinds = [(run.lot, run.method_id, run.size_kg) for run in problem.runs]
        order = {kind: number for number, kind in enumerate(dict.fromkeys(kinds))}
        self.kind = np.array([order[kind] for kind in kinds])
        self.kinds = len(order)

    def value(self, times: npt.NDArray[np.int64]) -> float:
        """Worth of a plan given as times for each run; the same as `KitchenProblem.value`."""
        kg = np.bincount(self.product, weights=times * self.size, minlength=len(self.per_kg))
        worth = self.per_kg * (np.minimum(kg, self.enough) + 0.5 * np.maximum(kg - self.enough, 0.0))
        return float(worth.sum() - times @ self.trouble)

    def fill(self, times: npt.NDArray[np.int64], liking: Floats) -> None:
        """Add runs to ``times`` while one fits and gains, the best gain for its hours first."""
        taken = np.flatnonzero(times)
        left = self.limits - self.needs[:, taken] @ times[taken].astype(np.float32)
        kg = np.bincount(self.product, weights=times * self.size, minlength=len(self.per_kg))
        fits = self._fits(np.flatnonzero(left < self.largest), left)
        while True:
            room = np.maximum(self.enough - kg, 0.0)[self.product]
            full = np.minimum(self.size, room)
            gain = self.per_kg[self.product] * (full + 0.5 * (self.size - full)) - self.trouble
            score = np.where(fits & (gain > _EPS), gain * liking[self.kind] / (0.25 + self.hours), -1.0)
            best = int(score.argmax())
            if score[best] <= 0.0:
                return
            times[best] += 1
            kg[self.product[best]] += self.size[best]
            left -= self.needs[:, best]
            fits &= self._fits(self.touched[best], left)

    def _fits(self, rows: npt.NDArray[np.intp], left: npt.NDArray[np.float32]) -> npt.NDArray[np.bool_]:
        """Which runs exceed none of these limits."""
        found: npt.NDArray[np.bool_] = np.all(self.needs[rows] <= left[rows, None] + _EPS, axis=0)
        return found


def improved(
    problem: KitchenProblem, start: Mapping[int, int], *, rounds: int, seed: int = 1
) -> dict[int, int]:
    """A plan at least as good as ``start``: position of a run -> times.

    Parameters
    ----------
    rounds : how often a part is taken out and filled again; 0 hands back the start
    seed : of the choices; the same problem, rounds and seed give the same plan

    Method
    ------
    Iterated destroy and repair: in each round 15 to 60 % of the runs go out (whole lots in every second
    round), the rest is filled by gain for hours of work times a random liking of each kind of run, and the
    result is kept where it is not worse.
    """
    if not problem.runs or rounds <= 0:
        return dict(start)
    tables = _Tables(problem)
    chance = np.random.default_rng(seed)
    lots = np.array([run.lot for run in problem.runs])
    times = np.zeros(len(problem.runs), dtype=np.int64)
    for position, count in start.items():
        times[position] = count
    best = tables.value(times)
    for number in range(rounds):
        trial = times.copy()
        if number % 2:
            some = chance.choice(len(problem.lots), size=min(2, len(problem.lots)), replace=False)
            trial[np.isin(lots, some)] = 0
        else:
            share = chance.uniform(*_TAKEN_OUT)
            trial[chance.random(len(trial)) < share] = 0
        tables.fill(trial, np.exp(chance.normal(0.0, _STRAY, tables.kinds)))
        value = tables.value(trial)
        if value >= best - 1e-12:
            times, best = trial, value
    return {int(position): int(times[position]) for position in np.flatnonzero(times)}
