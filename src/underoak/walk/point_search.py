"""Search where prizes lie at points: walks are swept over the watch, then annealed and crossed."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from underoak.walk.afresh import MOST_ARCS_IN, SLACK_MIN
from underoak.walk.anneal import Anneal
from underoak.walk.chain import Points, points_of
from underoak.walk.closure import Arcs
from underoak.walk.local_search import Search, limits_of
from underoak.walk.tour import Tour

if TYPE_CHECKING:
    from underoak.walk.problem import WalkProblem
    from underoak.walk.tour import Lay

#: Fewest and most points that are annealed; a thousand take 40 MB, memory grows with their square.
FEWEST, MOST = 8, 3000
#: Walks swept before good ones are annealed on, and good walks kept.
SWEEPS, GOOD = 6, 8
#: Changes of a cycle for each point, and its first heat [mean kilograms of a prize].
CHANGES, HOT = 5, 0.3
#: Share of cycles that begin with a stretch swept afresh.
STRETCH_SHARE = 0.3
#: With fewer points than this so many rounds of the general search follow each cycle.
FEW, GENERAL_ROUNDS = 110, 10
#: The first price of a minute, as a share of what the walk gathers in one.
FIRST_PRICE = 0.8
#: Cycles that change nothing among the good walks before the search begins with new ones.
PATIENCE = 20

#: A walk and the price of a minute that led to it.
_Priced = tuple[Tour, float]


class PointSearch(Search):
    """Cycles of annealing that begin with swept walks and good walks; a round is a cycle.

    When the good walks do not change any more, others are made from new sweeps, and joined with the
    best of those before once they do not change either.
    """

    def __init__(self, problem: WalkProblem, lay: Lay, arcs: Arcs, seed: int, points: Points) -> None:
        super().__init__(problem, lay, arcs, seed)
        if self.afresh.arcs is not arcs:  # too many to sweep
            self.afresh.arcs = _links(lay, points)
        self.anneal = Anneal(points, int(self.rng.integers(1 << 62)))
        self.few = points.count < FEW
        self.general, self.whole_walks, self.unchanged = GENERAL_ROUNDS if self.few else 0, SWEEPS, 0
        self.good: list[_Priced] = []
        self.earlier: list[_Priced] = []
        self.stop: Callable[[], bool] = lambda: False

    def run(self, rounds: int, stop: Callable[[], bool] = lambda: False) -> Tour:
        """Up to ``rounds`` rounds, or until ``stop()``; the best tour so far."""
        self.stop = stop
        return super().run(rounds, stop)

    def step(self) -> bool:
        """One cycle, or a round of the general search; true when the best walk has become better."""
        if self.general or not (self.whole_walks or self.good):
            self.general = max(self.general - 1, 0)
            return super().step()
        self.general = GENERAL_ROUNDS if self.few else 0
        return self._take(*(self._new_walk() if self.whole_walks else self._good_walk()))

    def _new_walk(self) -> _Priced:
        """A walk swept as a whole and annealed."""
        self.whole_walks -= 1
        noise = 0.3 if self.earlier or self.whole_walks % 2 == 0 else 0.0
        sequence = self.afresh.whole(self._worth(noise, lean=False))
        kg = self.lay.modes.kg[sequence].sum() if sequence else self.anneal.mean
        return self._annealed(sequence, [], FIRST_PRICE * float(kg) / self.lay.minutes)

    def _good_walk(self) -> _Priced:
        """A good walk, perhaps with a stretch of it swept afresh, annealed beside the others."""
        rng, at = self.rng, int(self.rng.integers(len(self.good)))
        tour, price = self.good[at]
        sequence = tour.sequence
        if rng.random() < STRETCH_SHARE:
            worth = self._worth(float(rng.choice((0.0, 0.1, 0.3))), lean=False)
            sequence = self.afresh.stretch(sequence, worth)
        others = [other.sequence for k, (other, _) in enumerate(self.good) if k != at]
        return self._annealed(sequence, others, price)

    def _annealed(self, sequence: list[int], others: list[list[int]], price: float) -> _Priced:
        rounds = CHANGES * self.anneal.points.count
        sequence, price = self.anneal.cycle(
            sequence, others, price=price, hot=HOT, rounds=rounds, stop=self.stop
        )
        return self._tour(sequence), price

    def _take(self, tour: Tour, price: float) -> bool:
        """Keep a walk if it is good and new; true when it is the best so far."""
        missed = np.flatnonzero(self.must_modes)
        if tour.minutes > self.lay.minutes + SLACK_MIN or set(missed.tolist()) - set(tour.sequence):
            return False
        if tour.kg > self.best.kg:
            tour = self._settle(tour.sequence, 0.0)
        self.unchanged += 1
        if all(tour.kg != other.kg for other, _ in self.good):
            self.good = sorted([*self.good, (tour, price)], key=lambda one: -one[0].kg)[:GOOD]
            if any(tour is other for other, _ in self.good):
                self.unchanged = 0
        if self.unchanged > PATIENCE:
            self._renew()
        return self._note(tour)

    def _renew(self) -> None:
        """Begin with new sweeps; or, where that was done, join the best of before with the best of now."""
        self.unchanged, half = 0, self.good[: GOOD // 2]
        if self.earlier:
            self.good, self.earlier = sorted(half + self.earlier, key=lambda one: -one[0].kg), []
        else:
            self.good, self.earlier, self.whole_walks = [], half, SWEEPS


def search_of(problem: WalkProblem, lay: Lay, arcs: Arcs, seed: int) -> Search:
    """The search that suits the problem."""
    if FEWEST <= len(lay.modes.prize) <= MOST and lay.minutes > 0.0 and not limits_of(problem, lay).bound:
        points = points_of(lay, np.isin(lay.modes.prize, sorted(problem.must_see)))
        if points is not None:
            return PointSearch(problem, lay, arcs, seed, points)
    return Search(problem, lay, arcs, seed)


def _links(lay: Lay, points: Points) -> Arcs:
    """Ways to each point from those nearest to it and from those no nearer one hides, as arcs."""
    node = [*lay.modes.entry.tolist(), lay.start, lay.finish]
    around = zip(points.near, points.around, strict=True)
    nearest = [{c for _, c in near}.union(row[:MOST_ARCS_IN]) for near, row in around]
    pairs = {(node[c], node[a]) for a, those in enumerate(nearest) for c in those if node[c] != node[a]}
    tail, head = np.array(sorted(pairs), dtype=np.int64).reshape(-1, 2).T
    return Arcs(tail, head, lay.ways.minutes[tail, head], np.full(len(tail), -1))
