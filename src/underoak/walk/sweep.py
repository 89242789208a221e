"""A walk from the watch alone: at every node and every tick, the best way to be there by then.

One label is kept for each node and tick: the most worth gathered, and which prizes it was, so that
nothing is paid twice. That is a dynamic programme with the memory of its best labels only. It is no
bound, but it sees at once how a whole loop through a far patch pays, which no insertion of single
prizes does.

Source: state space relaxation for routing, Christofides, Mingozzi, Toth 1981 (from memory); keeping
each label's own memory instead of relaxing it makes a good walk of it rather than a bound.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from underoak.walk.closure import Arcs

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.walk.closure import Modes

    FloatArray = npt.NDArray[np.float64]
    IntArray = npt.NDArray[np.int64]

#: Prizes a word of a label's memory holds.
BITS = 64


@dataclass(frozen=True, slots=True, eq=False)
class _Moves:
    """Moves by the node they lead to, all of shape (nodes, most moves into a node).

    ``tail`` node the move leaves, ``ticks`` it takes, ``mode`` gathered on it or -1; ``absent`` where a
    node has fewer moves than the most.
    """

    tail: IntArray
    ticks: IntArray
    mode: IntArray
    absent: npt.NDArray[np.bool_]


def _moves(nodes: int, arcs: Arcs, modes: Modes, tick: float) -> _Moves:
    """Waiting a tick, every arc and every mode; what takes less than half a tick is gathered on arrival."""
    still, none = np.arange(nodes), np.full(nodes + len(arcs.tail), -1)
    quick = np.flatnonzero((modes.entry == modes.exit) & (modes.minutes < 0.5 * tick))
    at = np.full(nodes, -1)
    at[modes.entry[quick]] = quick
    arrive = np.flatnonzero(at[arcs.head] >= 0)
    tail = np.concatenate((still, arcs.tail, modes.entry, arcs.tail[arrive]))
    head = np.concatenate((still, arcs.head, modes.exit, arcs.head[arrive]))
    minutes = np.concatenate((np.full(nodes, tick), arcs.minutes, modes.minutes, arcs.minutes[arrive]))
    mode = np.concatenate((none, np.arange(len(modes.prize)), at[arcs.head[arrive]]))
    order = np.argsort(head, kind="stable")
    count = np.bincount(head, minlength=nodes)
    column = np.arange(len(order)) - np.repeat(np.cumsum(count) - count, count)
    shape = (nodes, int(count.max()))
    tables = np.zeros(shape, np.int64), np.ones(shape, np.int64), np.full(shape, -1, np.int64)
    absent = np.ones(shape, dtype=bool)
    absent[head[order], column] = False
    ticks = np.maximum(np.rint(minutes / tick), 1.0).astype(np.int64)
    for table, values in zip(tables, (tail, ticks, mode), strict=True):
        table[head[order], column] = values[order]
    return _Moves(*tables, absent)


class Sweep:
    """The moves of one wood, with one mode at least, and the watch cut into ticks of ``tick`` minutes."""

    def __init__(self, nodes: int, arcs: Arcs, modes: Modes, tick: float) -> None:
        self.nodes, self.tick, self.moves = nodes, tick, _moves(nodes, arcs, modes, tick)
        self.bit = np.unique(modes.prize, return_inverse=True)[1].astype(np.int64)
        self.words = int(self.bit.max(initial=0)) // BITS + 1
        bit = self.bit[np.maximum(self.moves.mode, 0)]
        self.word = bit // BITS
        self.mask = np.where(self.moves.mode >= 0, _one_bit(bit), np.uint64(0))

    def best(self, worth: FloatArray, start: int, finish: int, minutes: float, taken: IntArray) -> list[int]:
        """Modes of the best way found from ``start`` to ``finish``, in order.

        ``worth`` (modes,) is what each mode is worth; modes of ``taken`` are worth nothing any more.
        Minutes are rounded to ticks, so that the way may take a little more or less than ``minutes``.
        """
        last = max(int(minutes / self.tick), 1)
        first = int(self.moves.ticks.max())
        value = np.full((first + last + 1) * self.nodes, -math.inf)
        seen = np.zeros((len(value), self.words), dtype=np.uint64)
        begin = first * self.nodes + start
        value[begin] = 0.0
        np.bitwise_or.at(seen[begin], self.bit[taken] // BITS, _one_bit(self.bit[taken]))
        choices = self._forward(worth, value, seen, first, last)
        reached = math.isfinite(value[(first + last) * self.nodes + finish])
        return self._back(choices, finish) if reached else []

    def _forward(
        self, worth: FloatArray, value: FloatArray, seen: npt.NDArray[np.uint64], first: int, last: int
    ) -> npt.NDArray[np.int32]:
        """Fill ``value`` and ``seen`` tick by tick; the move into every node that was best at every tick."""
        n, moves = self.nodes, self.moves
        gain = np.where(moves.mode >= 0, worth[np.maximum(moves.mode, 0)], 0.0)
        gain[moves.absent] = -math.inf
        back = (first - moves.ticks) * n + moves.tail
        back_word, memory = back * self.words + self.word, seen.reshape(-1)
        node, into = np.arange(n), np.arange(n) * back.shape[1]
        choices = np.zeros((last + 1, n), dtype=np.int32)
        for k in range(1, last + 1):
            origin = back + k * n
            got = value.take(origin) + gain
            got[(memory.take(back_word + k * n * self.words) & self.mask) != 0] = -math.inf
            choices[k] = got.argmax(axis=1)
            best = into + choices[k]
            label = seen[origin.take(best)]
            label[node, self.word.take(best)] |= self.mask.take(best)
            now = slice((first + k) * n, (first + k + 1) * n)
            value[now], seen[now] = got.take(best), label
        return choices

    def _back(self, choices: npt.NDArray[np.int32], finish: int) -> list[int]:
        """Modes on the way that ends at ``finish`` at the last tick."""
        k, node, sequence = len(choices) - 1, finish, []
        while k > 0:
            move = (node, int(choices[k, node]))
            if (mode := int(self.moves.mode[move])) >= 0:
                sequence.append(mode)
            k, node = k - int(self.moves.ticks[move]), int(self.moves.tail[move])
        return sequence[::-1]


def nearest_arcs(arcs: Arcs, nodes: int, most: int) -> Arcs:
    """The ``most`` quickest arcs into each node."""
    order = np.lexsort((arcs.minutes, arcs.head))
    count = np.bincount(arcs.head, minlength=nodes)
    rank = np.arange(len(order)) - np.repeat(np.cumsum(count) - count, count)
    keep = np.sort(order[rank < most])
    return Arcs(arcs.tail[keep], arcs.head[keep], arcs.minutes[keep], arcs.edge[keep])


def _one_bit(bit: IntArray) -> npt.NDArray[np.uint64]:
    """A word with one bit set, for each."""
    return np.left_shift(np.uint64(1), (bit % BITS).astype(np.uint64))
