"""A good walk at once: take part of a walk away, put it together again, keep what is better."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from underoak.walk.shorten import shorten
from underoak.walk.tour import Gaps, Lay, Tour, tour_of

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.walk.problem import WalkProblem

    FloatArray = npt.NDArray[np.float64]

#: Minutes below which an insertion counts as free.
FREE_MIN = 1e-3
#: A walk may exceed its time by no more than rounding.
SLACK_MIN = 1e-7


@dataclass(frozen=True, slots=True, eq=False)
class Limits:
    """Bag and place limits seen from the modes: ``place`` (modes,) and ``place_kg`` (places,)."""

    place: npt.NDArray[np.int64]
    place_kg: FloatArray
    bag_kg: float
    bound: bool

    def value(self, lay: Lay, sequence: list[int]) -> float:
        """Kilograms of the sequence that the limits let through."""
        kg = lay.modes.kg[sequence]
        if not self.bound:
            return float(kg.sum())
        sums = np.bincount(self.place[sequence], weights=kg, minlength=len(self.place_kg))
        return float(min(np.minimum(sums, self.place_kg).sum(), self.bag_kg))


def limits_of(problem: WalkProblem, lay: Lay) -> Limits:
    """The limits of the problem for the search."""
    place = np.array([p.place for p in problem.prizes], dtype=np.int64)
    caps = np.array(problem.place_limit_kg, dtype=float)
    bound = bool(np.isfinite(caps).any() or math.isfinite(problem.bag_kg))
    return Limits(place[lay.modes.prize] if len(lay.modes.prize) else place[:0], caps, problem.bag_kg, bound)


class Search:
    """Ruin and recreate on one problem, reproducible by seed."""

    def __init__(self, problem: WalkProblem, lay: Lay, seed: int) -> None:
        self.lay, self.limits = lay, limits_of(problem, lay)
        self.rng = np.random.default_rng(seed)
        modes = lay.modes
        must = np.isin(modes.prize, sorted(problem.must_see))
        self.must = {int(p) for p in modes.prize[must]}
        self.must_modes = must
        self.siblings = [{m, int(modes.other[m])} for m in range(len(modes.prize))]
        self.current = self._first()
        self.best = self.current.copy()
        self.least_removed, self.stale = 1, 0

    def _tour(self, sequence: list[int]) -> Tour:
        tour = tour_of(self.lay, sequence)
        tour.kg = self.limits.value(self.lay, sequence)
        return tour

    def _first(self) -> Tour:
        sequence: list[int] = []
        free = np.isin(self.lay.modes.prize, sorted(self.must))
        sequence = self._fill(sequence, free, noise=0.0)
        return self._settle(sequence, noise=0.0)

    def free_of(self, sequence: list[int]) -> npt.NDArray[np.bool_]:
        """Which modes belong to prizes that are not in the sequence yet."""
        free = np.ones(len(self.lay.modes.prize), dtype=bool)
        free[sequence] = False
        free[self.lay.modes.other[sequence]] = False
        return free

    def _fill(self, sequence: list[int], free: npt.NDArray[np.bool_], noise: float) -> list[int]:
        lay, limits = self.lay, self.limits
        left = lay.minutes - tour_of(lay, sequence).minutes + SLACK_MIN
        if not free.any() or left < 0.0:
            return sequence
        gaps = Gaps(lay, sequence, free)
        worth = lay.modes.kg * np.exp(noise * self.rng.standard_normal(len(free)))
        if self.must:
            worth = np.where(self.must_modes, 1e9, worth)
        room = _Room(limits, lay, sequence)
        while True:
            fits = free & (gaps.least <= left) & (room.open_modes() | self.must_modes)
            if not fits.any():
                return sequence
            score = np.where(fits, worth / np.maximum(gaps.least, FREE_MIN), -1.0)
            mode = int(np.argmax(score))
            left -= gaps.insert(sequence, mode)
            free[mode] = free[lay.modes.other[mode]] = False
            room.take(mode)

    def _settle(self, sequence: list[int], noise: float) -> Tour:
        sequence = self._fill(sequence, self.free_of(sequence), noise)
        minutes = math.inf
        while True:
            sequence, now = shorten(self.lay, sequence)
            if now > minutes - FREE_MIN:
                break
            minutes, count = now, len(sequence)
            sequence = self._fill(sequence, self.free_of(sequence), noise=0.0)
            if len(sequence) == count:
                break
        return self._tour(sequence)

    def _ruin(self, sequence: list[int]) -> list[int]:
        n, rng = len(sequence), self.rng
        count = int(rng.integers(self.least_removed, max(self.least_removed + 1, min(n, 4 + n // 3)) + 1))
        kind = rng.random()
        if kind < 0.45:
            first = int(rng.integers(0, n))
            gone = set(range(first, min(n, first + count)))
        elif kind < 0.8:
            modes = self.lay.modes
            centre = sequence[int(rng.integers(0, n))]
            near = self.lay.ways.minutes[modes.entry[centre], modes.entry[sequence]]
            gone = set(np.argsort(near, kind="stable")[:count].tolist())
        else:
            gone = set(rng.choice(n, min(count, n), replace=False).tolist())
        prize = self.lay.modes.prize
        return [m for p, m in enumerate(sequence) if p not in gone or int(prize[m]) in self.must]

    def _seeded(self, sequence: list[int]) -> list[int]:
        """The sequence with one random prize put in first, to see the far side of the wood."""
        free = self.free_of(sequence)
        fits = np.flatnonzero(free)
        if not len(fits):
            return sequence
        gaps = Gaps(self.lay, sequence, free)
        left = self.lay.minutes - tour_of(self.lay, sequence).minutes
        fits = fits[gaps.least[fits] <= left]
        if len(fits):
            weight = self.lay.modes.kg[fits] + 1e-12
            gaps.insert(sequence, int(self.rng.choice(fits, p=weight / weight.sum())))
        return sequence

    def step(self, heat: float) -> bool:
        """One round; ``heat`` is the share of the best that a worse walk may lack. True when improved."""
        rng = self.rng
        base = self.current if self.current.sequence else self.best
        if rng.random() < 0.03:
            sequence = self._seeded(self._only_must())
        elif base.sequence:
            sequence = self._ruin(base.sequence)
            if rng.random() < 0.25:
                sequence = self._seeded(sequence)
        else:
            sequence = []
        tour = self._settle(sequence, noise=float(rng.choice((0.0, 0.1, 0.3, 0.6))))
        return self._judge(tour, heat)

    def _only_must(self) -> list[int]:
        prize = self.lay.modes.prize
        return [m for m in self.best.sequence if int(prize[m]) in self.must]

    def _judge(self, tour: Tour, heat: float) -> bool:
        if (tour.kg, -tour.minutes) > (self.best.kg + 1e-12, -self.best.minutes):
            self.best, self.current = tour.copy(), tour
            return True
        ahead = (tour.kg, -tour.minutes) >= (self.current.kg, -self.current.minutes)
        if ahead or tour.kg >= self.best.kg * (1.0 - heat * float(self.rng.random())):
            self.current = tour
        return False

    def run(self, rounds: int, stop: Callable[[], bool] = lambda: False) -> Tour:
        """Up to ``rounds`` rounds, or until ``stop()``; the best tour so far."""
        for number in range(rounds):
            if stop():
                break
            self.step(heat=0.03 * (1.0 - number / rounds))
        return self.best


class _Room:
    """What bag and places still take while a walk is being filled."""

    def __init__(self, limits: Limits, lay: Lay, sequence: list[int]) -> None:
        self.limits, self.kg = limits, lay.modes.kg
        if limits.bound:
            picked = np.bincount(
                limits.place[sequence], weights=self.kg[sequence], minlength=len(limits.place_kg)
            )
            self.picked = picked

    def open_modes(self) -> npt.NDArray[np.bool_] | bool:
        """Modes whose place and bag still have room."""
        limits = self.limits
        if not limits.bound:
            return True
        if np.minimum(self.picked, limits.place_kg).sum() >= limits.bag_kg - 1e-12:
            return np.zeros(len(self.kg), dtype=bool)
        open_place: npt.NDArray[np.bool_] = self.picked < limits.place_kg - 1e-12
        return open_place[limits.place]

    def take(self, mode: int) -> None:
        """Count a mode as picked."""
        if self.limits.bound:
            self.picked[self.limits.place[mode]] += self.kg[mode]
