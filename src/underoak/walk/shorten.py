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
        modes = lay.modes
        leave, enter = lay.ends(sequence)
        s = leave[1:]
        r = modes.other[s]
        self.sequence, self.length = sequence, len(s)
        self.turned: list[int] = r.tolist()
        #: position 0 is the start, 1..L the modes, L+1 the finish
        self.link = lay.between(leave[:, None], enter)  # [p, q] = from position p to position q + 1
        if np.array_equal(r, s):  # what lies at nodes is the same forwards and backwards
            self.into_turned, self.from_turned = self.link[:, :-1], self.link[1:, :]
        else:
            self.into_turned = lay.between(leave[:, None], r)  # [p, q]: p to turned position q + 1
            self.from_turned = lay.between(r[:, None], enter)  # [p, q]: turned p + 1 to q + 1
        turned_links = lay.between(r[1:], r[:-1])
        self.chain = np.diagonal(self.link)
        gain = np.concatenate(([0.0], np.cumsum(turned_links - self.chain[1 : self.length])))
        own = np.concatenate(([0.0], np.cumsum(modes.minutes[r] - modes.minutes[s])))
        self.gain, self.own = gain, own

    def stretch(self, first: int, length: int, *, turn: bool) -> list[int]:
        """Modes of a stretch, the other way round on wish."""
        if turn:
            return self.turned[first : first + length][::-1]
        return self.sequence[first : first + length]


def _turned_round(order: _Order) -> list[int] | None:
    """The sequence with stretches turned round where each saves most; None when none gets shorter."""
    n = order.length
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
    sequence: list[int] = []
    while True:
        i, j = divmod(int(np.argmin(delta)), n)
        if delta[i, j] > -LEAST_MIN:
            return sequence or None
        sequence = sequence or list(order.sequence)
        sequence[i : j + 1] = order.stretch(i, j + 1 - i, turn=True)
        delta[: j + 2, max(i - 1, 0) :] = np.inf  # all that share a link with it


#: (minutes more, first position, length, gap, turned)
_Move = tuple[float, int, int, int, bool]


def _moved(order: _Order) -> list[int] | None:
    """The sequence with stretches of up to three put where each saves most, or None."""
    moves: list[_Move] = []
    for length in range(1, min(LONGEST_MOVED, order.length - 1) + 1):
        moves += _moves_of(order, length)
    chosen: list[_Move] = []
    used: set[int] = set()
    for move in sorted(moves):
        _, i, length, gap, _ = move
        links = {*range(i, i + length + 1), gap}
        if not links & used:
            used |= links
            chosen.append(move)
    return _put(order, chosen) if chosen else None


def _moves_of(order: _Order, length: int) -> list[_Move]:
    """For each stretch of this length the gap that saves most, as far as anything is saved."""
    count = order.length - length + 1
    first, last = np.arange(count), np.arange(length - 1, order.length)
    saved = order.chain[:count] + order.chain[length:] - order.link[first, last + 1]
    inserted = order.link[:, :count].T + order.link[length:, :]
    turned = order.into_turned[:, length - 1 :].T + order.from_turned[:count, :]
    moves: list[_Move] = []
    for cost, own, turn in ((inserted, -saved, False), (turned, _turning(order, first, last) - saved, True)):
        delta = cost - order.chain
        delta += own[:, None]
        for shift in range(length + 1):
            delta[first, first + shift] = np.inf
        gap = np.argmin(delta, axis=1)
        least = delta[first, gap]
        moves += [
            (float(least[i]), int(i), length, int(gap[i]), turn) for i in np.flatnonzero(least < -LEAST_MIN)
        ]
    return moves


def _turning(order: _Order, first: IntArray, last: IntArray) -> FloatArray:
    turned: FloatArray = order.gain[last] - order.gain[first] + order.own[last + 1] - order.own[first]
    return turned


def _put(order: _Order, moves: list[_Move]) -> list[int]:
    """The sequence after moves that share no link."""
    gone = {position for _, i, length, _, _ in moves for position in range(i, i + length)}
    at = {gap: order.stretch(i, length, turn=turn) for _, i, length, gap, turn in moves}
    sequence: list[int] = []
    for position in range(order.length + 1):
        sequence += at.get(position, [])
        if position < order.length and position not in gone:
            sequence.append(order.sequence[position])
    return sequence


def shorten(lay: Lay, sequence: list[int]) -> tuple[list[int], float]:
    """The sequence brought to a local optimum of both moves, and its minutes."""
    while sequence:
        order = _Order(lay, sequence)
        better = _turned_round(order) or _moved(order)
        if better is None:
            break
        sequence = better
    return sequence, tour_minutes(lay, sequence)
