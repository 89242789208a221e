"""Put the same prizes into a shorter order: turn stretches round, move short stretches elsewhere."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from underoak.walk.tour import tour_minutes

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.walk.tour import Lay

    FloatArray = npt.NDArray[np.float64]
    IntArray = npt.NDArray[np.int64]

#: A change has to save at least this much [minutes], against endless loops of rounding.
LEAST_MIN = 1e-7
#: Longest stretch that is moved as a whole.
LONGEST_MOVED = 3


class _Order:
    """A sequence with its ends, looked at forwards and backwards."""

    def __init__(self, lay: Lay, sequence: list[int]) -> None:
        modes, minutes = lay.modes, lay.ways.minutes
        s = np.array(sequence, dtype=np.int64)
        r = modes.other[s]
        self.length = len(s)
        #: position 0 is the start, 1..L the modes, L+1 the finish
        leave = np.concatenate(([lay.start], modes.exit[s]))
        enter = np.concatenate((modes.entry[s], [lay.finish]))
        self.link = minutes[leave[:, None], enter]  # [p, q] = from position p to position q + 1
        self.into_turned = minutes[leave[:, None], modes.entry[r]]  # [p, q]: p to turned position q + 1
        self.from_turned = minutes[modes.exit[r][:, None], enter]  # [p, q]: turned p + 1 to q + 1
        turned_links = minutes[modes.exit[r[1:]], modes.entry[r[:-1]]] if self.length > 1 else np.zeros(0)
        self.chain = np.diagonal(self.link)
        gain = np.concatenate(([0.0], np.cumsum(turned_links - self.chain[1 : self.length])))
        own = np.concatenate(([0.0], np.cumsum(modes.minutes[r] - modes.minutes[s])))
        self.gain, self.own = gain, own


def turn_round(lay: Lay, sequence: list[int]) -> list[int] | None:
    """The sequence with its best stretch turned round, or None when none gets shorter."""
    order = _Order(lay, sequence)
    n = order.length
    if n < 1:
        return None
    before, after = order.chain[:n], order.chain[1:]
    delta = (
        order.into_turned[:n, :]
        + order.from_turned[:, 1:]
        + (order.gain[None, :] - order.gain[:, None])
        + (order.own[None, 1:] - order.own[:-1, None])
        - before[:, None]
        - after[None, :]
    )
    delta[np.tri(n, k=-1, dtype=bool)] = np.inf
    i, j = divmod(int(np.argmin(delta)), n)
    if delta[i, j] > -LEAST_MIN:
        return None
    other = lay.modes.other
    return sequence[:i] + [int(other[m]) for m in reversed(sequence[i : j + 1])] + sequence[j + 1 :]


def move_stretch(lay: Lay, sequence: list[int]) -> list[int] | None:
    """The sequence with its best stretch of up to three moved elsewhere, or None."""
    order = _Order(lay, sequence)
    n, best, choice = order.length, -LEAST_MIN, None
    for length in range(1, min(LONGEST_MOVED, n - 1) + 1):
        first = np.arange(n - length + 1)
        last = first + length - 1
        saved = order.chain[first] + order.chain[last + 1] - order.link[first, last + 1]
        inserted = order.link[:, first].T + order.link[last + 1, :] - order.chain[None, :]
        turned = order.into_turned[:, last].T + order.from_turned[first, :] - order.chain[None, :]
        turned = turned + _turning(order, first, last)[:, None]
        for cost, flip in ((inserted, False), (turned, True)):
            delta = cost - saved[:, None]
            for shift in range(length + 1):
                delta[first, first + shift] = np.inf
            spot = int(np.argmin(delta))
            i, gap = divmod(spot, n + 1)
            if delta[i, gap] < best:
                best, choice = float(delta[i, gap]), (i, length, gap, flip)
    return None if choice is None else _moved(lay, sequence, choice)


def _turning(order: _Order, first: IntArray, last: IntArray) -> FloatArray:
    turned: FloatArray = order.gain[last] - order.gain[first] + order.own[last + 1] - order.own[first]
    return turned


def _moved(lay: Lay, sequence: list[int], move: tuple[int, int, int, bool]) -> list[int]:
    i, length, gap, flip = move
    stretch = sequence[i : i + length]
    if flip:
        stretch = [int(lay.modes.other[m]) for m in reversed(stretch)]
    rest = sequence[:i] + sequence[i + length :]
    place = gap if gap <= i else gap - length
    return rest[:place] + stretch + rest[place:]


def shorten(lay: Lay, sequence: list[int]) -> tuple[list[int], float]:
    """The sequence brought to a local optimum of both moves, and its minutes."""
    while True:
        better = turn_round(lay, sequence) or move_stretch(lay, sequence)
        if better is None:
            return sequence, tour_minutes(lay, sequence)
        sequence = better
