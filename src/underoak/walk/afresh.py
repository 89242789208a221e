"""Walks and stretches of walks swept afresh, in time to the second."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from underoak.walk.shorten import shorten
from underoak.walk.sweep import Sweep, nearest_arcs, on_the_way
from underoak.walk.tour import tour_minutes

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.walk.closure import Arcs
    from underoak.walk.tour import Lay

    FloatArray = npt.NDArray[np.float64]

#: Ticks the time of the walk is cut into: drawn anew for each sweep, so that rounding varies.
TICKS = (350.0, 800.0)
#: Share of the prizes that a stretch holds.
STRETCH = (0.15, 0.6)
#: Where there are more arcs into each node than this on average, a sweep looks at the quickest of them.
MOST_ARCS_IN = 12
#: A walk may exceed its time by no more than rounding.
SLACK_MIN = 1e-7


class Afresh:
    """Makes sequences of modes by sweeping the watch, reproducible by ``rng``."""

    def __init__(
        self, lay: Lay, arcs: Arcs, must_modes: npt.NDArray[np.bool_], rng: np.random.Generator
    ) -> None:
        self.lay, self.must_modes, self.rng = lay, must_modes, rng
        nodes = lay.ways.minutes.shape[0]
        sparse = len(arcs.tail) <= MOST_ARCS_IN * nodes
        self.arcs = arcs if sparse else nearest_arcs(arcs, nodes, MOST_ARCS_IN)
        self.possible = len(lay.modes.prize) > 0 and lay.minutes > 0.0

    def _between(
        self, worth: FloatArray, here: int, there: int, minutes: float, taken: list[int]
    ) -> list[int]:
        """The best way found from here to there that gathers nothing of ``taken``."""
        lay, tick = self.lay, self.lay.minutes / self.rng.uniform(*TICKS)
        to, back = lay.ways.minutes[here], lay.ways.minutes[:, there]
        arcs, chosen = on_the_way(to, back, self.arcs, lay.modes, minutes)
        chosen = chosen[~np.isin(lay.modes.prize[chosen], lay.modes.prize[taken])]
        if not len(chosen):
            return []
        return Sweep(np.minimum(to, back), arcs, lay.modes, chosen, tick).best(worth, here, there, minutes)

    def whole(self, worth: FloatArray) -> list[int]:
        """A walk from start to finish that gathers what is worth most."""
        lay = self.lay
        return self.in_time(self._between(worth, lay.start, lay.finish, lay.minutes, []))

    def stretch(self, sequence: list[int], worth: FloatArray) -> list[int]:
        """The walk with a random stretch of it swept afresh, in the time that the rest leaves."""
        lay, n = self.lay, len(sequence)
        count = max(2, int(n * self.rng.uniform(*STRETCH)))
        first = int(self.rng.integers(0, max(n - count, 0) + 1))
        before, after = sequence[:first], sequence[first + count :]
        rest = before + after
        here, there = lay.leaves(before), lay.enters(after)
        left = lay.minutes - tour_minutes(lay, rest)
        left += float(lay.link[before[-1] if before else lay.end, after[0] if after else lay.end])
        between = self._between(worth, here, there, left, rest)
        return self.in_time(before + between + after)

    def in_time(self, sequence: list[int]) -> list[int]:
        """The sequence without what gathers least for its minutes, until it keeps its time."""
        lay = self.lay
        if tour_minutes(lay, sequence) > lay.minutes + SLACK_MIN:
            sequence, _ = shorten(lay, sequence)
        while sequence and tour_minutes(lay, sequence) > lay.minutes + SLACK_MIN:
            leave, enter = lay.ends(sequence)
            s, links = leave[1:], lay.between(leave, enter)
            saved = links[:-1] + lay.modes.minutes[s] + links[1:] - lay.between(leave[:-1], enter[1:])
            kg = np.where(self.must_modes[s], 1e9, lay.modes.kg[s])
            sequence = sequence.copy()
            sequence.pop(int(np.argmin(kg / np.maximum(saved, 1e-3))))
        return sequence
