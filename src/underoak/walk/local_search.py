"""A good walk at once: sweep whole walks, change or cross parts of them, keep what is better."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from underoak.walk.afresh import SLACK_MIN, Afresh
from underoak.walk.crossing import crossed
from underoak.walk.shorten import shorten
from underoak.walk.tour import Gaps, Lay, Tour, tour_minutes, tour_of

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.walk.closure import Arcs
    from underoak.walk.problem import WalkProblem

    FloatArray = npt.NDArray[np.float64]

#: Minutes below which an insertion counts as free.
FREE_MIN = 1e-3


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


#: A walk is polished only when it comes this near to the one it was made from.
NEAR = 0.01
#: Share of the best of its episode that a walk taken over may lack.
HEAT = 0.003
#: Rounds without gain after which the search goes elsewhere.
PATIENCE = 60
#: Good walks kept to begin again from.
KEPT = 8
#: Walks swept as a whole at the beginning, and again when the relaxation has spoken.
FIRST_SWEEPS, LED_SWEEPS = 8, 3
#: Shares of rounds that sweep a stretch of the walk afresh, and that cross it with another good walk.
SWEEP_SHARE, CROSS_SHARE = 0.2, 0.2
#: Fewest prizes of a walk that is swept or crossed in part.
FEWEST = 4


class Search:
    """Sweeps, then ruin and recreate, on one problem, reproducible by seed.

    The first rounds sweep whole walks. Then it works in episodes: each begins somewhere, changes its
    walk (ruin and recreate, a stretch swept afresh, a stretch taken over from another good walk) until
    nothing is gained for a while, and leaves its best behind. ``lean_on`` gives it the relaxation's
    opinion of each mode.
    """

    def __init__(self, problem: WalkProblem, lay: Lay, arcs: Arcs, seed: int) -> None:
        self.lay, self.limits = lay, limits_of(problem, lay)
        self.rng = np.random.default_rng(seed)
        self.must_modes = np.isin(lay.modes.prize, sorted(problem.must_see))
        self.afresh = Afresh(lay, arcs, self.must_modes, self.rng)
        self.sweeps = FIRST_SWEEPS if self.afresh.possible else 0
        self.opinion: FloatArray | None = None
        self.kept: list[Tour] = []
        must_first = self._fill([], self.must_modes.copy(), noise=0.0)
        self.best = self._settle(must_first, noise=0.0)
        self._begin(self.best.copy())

    def _begin(self, tour: Tour) -> None:
        self.current, self.episode_best, self.stale = tour, tour.copy(), 0

    def lean_on(self, share: FloatArray) -> None:
        """Begin anew from what the relaxation takes: ``share`` (modes,) is 0 to 1."""
        self.opinion = share
        for noise in (0.0, 0.1, 0.3):
            tour = self._settle(self._must_of(self.best.sequence), noise, lean=True)
            self._keep(tour)
            self._note(tour)
        self._begin(max(self.kept, key=lambda kept: kept.kg).copy())
        self.sweeps = LED_SWEEPS if self.afresh.possible else 0

    def _tour(self, sequence: list[int]) -> Tour:
        tour = tour_of(self.lay, sequence)
        tour.kg = self.limits.value(self.lay, sequence)
        return tour

    def free_of(self, sequence: list[int]) -> npt.NDArray[np.bool_]:
        """Which modes belong to prizes that are not in the sequence yet."""
        free = np.ones(len(self.lay.modes.prize), dtype=bool)
        free[sequence] = False
        free[self.lay.modes.other[sequence]] = False
        return free

    def _worth(self, noise: float, *, lean: bool) -> FloatArray:
        kg = self.lay.modes.kg
        worth = kg * np.exp(noise * self.rng.standard_normal(len(kg))) if noise else kg
        if lean and self.opinion is not None:
            worth = worth * (0.05 + self.opinion)
        return np.where(self.must_modes, 1e9, worth)

    def _fill(
        self, sequence: list[int], free: npt.NDArray[np.bool_], noise: float, *, lean: bool = False
    ) -> list[int]:
        lay = self.lay
        left = lay.minutes - tour_minutes(lay, sequence) + SLACK_MIN
        if left < 0.0 or not free.any():
            return sequence
        gaps = Gaps(lay, sequence)
        worth, room = self._worth(noise, lean=lean), _Room(self.limits, lay, sequence)
        while True:
            fits = free & (gaps.least <= left)
            if self.limits.bound:
                fits &= room.open_modes() | self.must_modes
            if not fits.any():
                return sequence
            mode = int(np.argmax(np.where(fits, worth / np.maximum(gaps.least, FREE_MIN), -1.0)))
            left -= gaps.insert(sequence, mode)
            free[mode] = free[lay.modes.other[mode]] = False
            room.take(mode)

    def _settle(
        self, sequence: list[int], noise: float, *, worth_it: float = -1.0, lean: bool = False
    ) -> Tour:
        """Fill the sequence, and polish it unless it falls short of ``worth_it``."""
        sequence = self._fill(sequence, self.free_of(sequence), noise, lean=lean)
        minutes = math.inf
        while self.limits.value(self.lay, sequence) >= worth_it:
            sequence, now = shorten(self.lay, sequence)
            if now > minutes - FREE_MIN:
                break
            minutes, count = now, len(sequence)
            sequence = self._fill(sequence, self.free_of(sequence), noise=0.0)
            if len(sequence) == count:
                break
        return self._tour(sequence)

    def _ruin(self, sequence: list[int]) -> list[int]:
        n, rng, modes = len(sequence), self.rng, self.lay.modes
        count = 1 + int(min(n, 4 + 0.3 * n) * rng.random() ** 1.5)
        kind = rng.random()
        if self.opinion is not None and kind < 0.3:
            gone = set(np.flatnonzero(rng.random(n) > 0.4 + 0.6 * self.opinion[sequence]).tolist())
        elif kind < 0.6:
            first = int(rng.integers(0, n))
            gone = set(range(first, min(n, first + count)))
        elif kind < 0.9:
            centre = sequence[int(rng.integers(0, n))]
            near = self.lay.ways.minutes[modes.entry[centre], modes.entry[sequence]]
            gone = set(np.argsort(near, kind="stable")[:count].tolist())
        else:
            gone = set(rng.choice(n, min(count, n), replace=False).tolist())
        return [m for p, m in enumerate(sequence) if p not in gone or self.must_modes[m]]

    def _seeded(self, sequence: list[int]) -> list[int]:
        """The sequence with one random prize put in first, to see the far side of the wood."""
        gaps = Gaps(self.lay, sequence)
        left = self.lay.minutes - tour_minutes(self.lay, sequence)
        fits = np.flatnonzero(self.free_of(sequence) & (gaps.least <= left))
        if len(fits):
            weight = self.lay.modes.kg[fits] + 1e-12
            gaps.insert(sequence, int(self.rng.choice(fits, p=weight / weight.sum())))
        return sequence

    def _whole(self, noise: float, *, lean: bool) -> Tour:
        return self._swept(self.afresh.whole(self._worth(noise, lean=lean)))

    def _stretch(self) -> Tour:
        lean = self.opinion is not None and self.rng.random() < 0.5
        worth = self._worth(float(self.rng.choice((0.0, 0.1, 0.3))), lean=lean)
        return self._swept(self.afresh.stretch(self.current.sequence, worth))

    def _cross(self) -> Tour:
        """The walk crossed with one of the good walks kept, brought into its time and filled."""
        other = self.kept[int(self.rng.integers(len(self.kept)))].sequence
        if len(other) < FEWEST:
            return self.current.copy()
        sequence = crossed(self.lay, self.current.sequence, other, self.rng)
        return self._swept(self.afresh.in_time(sequence))

    def _swept(self, sequence: list[int]) -> Tour:
        """A swept sequence filled up; the best walk again when it misses something that must be seen."""
        tour, prize = self._settle(sequence, 0.0), self.lay.modes.prize
        seen, must = prize[self._must_of(tour.sequence)], prize[self._must_of(self.best.sequence)]
        return self.best.copy() if set(must) - set(seen) else tour

    def _must_of(self, sequence: list[int]) -> list[int]:
        return [m for m in sequence if self.must_modes[m]]

    def step(self) -> bool:
        """One round; true when the best walk has become better."""
        rng, current = self.rng, self.current
        if self.sweeps:
            return self._sweep_first()
        if self.stale > PATIENCE or not current.sequence:
            self._move_on()
            current = self.current
        if self.afresh.possible and len(current.sequence) >= FEWEST:
            kind = rng.random()
            if kind < SWEEP_SHARE:
                return self._judge(self._stretch())
            if kind < SWEEP_SHARE + CROSS_SHARE and self.kept:
                return self._judge(self._cross())
        sequence = self._ruin(current.sequence) if current.sequence else []
        if rng.random() < 0.15:
            sequence = self._seeded(sequence)
        lean = self.opinion is not None and rng.random() < 0.5
        noise = float(rng.choice((0.0, 0.1, 0.3)))
        tour = self._settle(sequence, noise, worth_it=current.kg * (1.0 - NEAR), lean=lean)
        return self._judge(tour)

    def _judge(self, tour: Tour) -> bool:
        """Take a walk over or leave it; true when it is the best so far."""
        current = self.current
        if _ahead(tour, self.episode_best):
            self.episode_best, self.stale = tour.copy(), 0
        else:
            self.stale += 1
        if not _ahead(current, tour) or tour.kg >= self.episode_best.kg * (
            1.0 - HEAT * float(self.rng.random())
        ):
            self.current = tour
        return self._note(tour)

    def _sweep_first(self) -> bool:
        """One whole walk, every other one with noise; after the last the best of them begins an episode."""
        self.sweeps -= 1
        tour = self._whole(0.0 if self.sweeps % 2 else 0.3, lean=self.opinion is not None)
        better = self._note(tour)
        self._keep(tour)
        if not self.sweeps:
            self._begin(self.kept[0].copy())
        return better

    def _move_on(self) -> None:
        """Leave the episode: begin with a sweep, a random prize, half of a kept walk, or from the best."""
        self._keep(self.episode_best)
        rng, kind = self.rng, self.rng.random()
        if kind < 0.2 and self.afresh.possible:
            self._begin(self._whole(0.3, lean=self.opinion is not None and rng.random() < 0.5))
        elif kind < 0.4:
            self._begin(self._settle(self._seeded(self._must_of(self.best.sequence)), 0.3))
        elif kind < 0.7:
            base = self.kept[int(rng.integers(len(self.kept)))].sequence
            half = [m for m in base if self.must_modes[m] or rng.random() < 0.5]
            self._begin(self._settle(self._seeded(half), 0.2))
        else:
            self._begin(self.best.copy())

    def _keep(self, tour: Tour) -> None:
        self.kept.append(tour)
        self.kept.sort(key=lambda kept: -kept.kg)
        del self.kept[KEPT:]

    def _note(self, tour: Tour) -> bool:
        if _ahead(tour, self.best):
            self.best = tour.copy()
            return True
        return False

    def run(self, rounds: int, stop: Callable[[], bool] = lambda: False) -> Tour:
        """Up to ``rounds`` rounds, or until ``stop()``; the best tour so far."""
        for _ in range(rounds):
            if stop():
                break
            self.step()
        return self.best


def _ahead(one: Tour, other: Tour) -> bool:
    """More kilograms, or as many in less time."""
    return (one.kg, -one.minutes) > (other.kg + 1e-12, -other.minutes)


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
