"""A walk from the watch alone: at every node and every tick, the best way to be there by then.

One label is kept for each node and tick: the most worth gathered, and which prizes it was, so that
nothing is paid twice. That is a dynamic programme with the memory of its best labels only. It is no
bound, but it sees at once how a whole loop through a far patch pays, which no insertion of single
prizes does.

Source: state space relaxation for routing, Christofides, Mingozzi, Toth 1981 (from memory); keeping
each label's own memory instead of relaxing it makes a good walk of it rather than a bound.
"""

from __future__ import annotations

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
#: Ticks by which rounding can bring a way nearer.
ROUNDED = 4
#: Worth of everything together, in whole numbers, and of a label that cannot be reached.
WHOLE, NOWHERE = 1 << 61, -(1 << 62)


@dataclass(frozen=True, slots=True, eq=False)
class _Moves:
    """Moves in the order of the places they lead to, all of shape (moves,).

    ``tail`` is the place the move leaves, ``ticks`` what it takes, ``mode`` what is gathered on it or -1,
    ``rank`` its number among the moves into its place. ``first`` (places + 1,) is the first move into each
    place; ``place`` (all nodes,) is a node's place, -1 where no move leads. Places are in the order of
    ``near`` (places,), the minutes to the nearer end.
    """

    tail: IntArray
    ticks: IntArray
    mode: IntArray
    rank: IntArray
    first: IntArray
    place: IntArray
    near: FloatArray


def _moves(near: FloatArray, arcs: Arcs, modes: Modes, chosen: IntArray, tick: float) -> _Moves:
    """Waiting a tick, every arc and chosen mode; what takes less than half a tick is gathered on arrival."""
    entry, leave, gathering = modes.entry[chosen], modes.exit[chosen], modes.minutes[chosen]
    used = np.unique(np.concatenate((arcs.tail, arcs.head, entry, leave)))
    used = used[np.argsort(near[used], kind="stable")]
    place = np.full(len(near), -1)
    place[used] = np.arange(len(used))
    quick = chosen[(entry == leave) & (gathering < 0.5 * tick)]
    at = np.full(len(near), -1)
    at[modes.entry[quick]] = quick
    arrive = np.flatnonzero(at[arcs.head] >= 0)
    none = np.full(len(used) + len(arcs.tail), -1)
    tail = place[np.concatenate((used, arcs.tail, entry, arcs.tail[arrive]))]
    head = place[np.concatenate((used, arcs.head, leave, arcs.head[arrive]))]
    minutes = np.concatenate((np.full(len(used), tick), arcs.minutes, gathering, arcs.minutes[arrive]))
    mode = np.concatenate((none, chosen, at[arcs.head[arrive]]))
    order, count = np.argsort(head, kind="stable"), np.bincount(head)
    first = np.concatenate(([0], np.cumsum(count)))
    rank = np.arange(len(order)) - np.repeat(first[:-1], count)
    ticks = np.maximum(np.rint(minutes[order] / tick), 1.0).astype(np.int64)
    return _Moves(tail[order], ticks, mode[order], rank, first, place, near[used])


class Sweep:
    """The moves of one wood, with one chosen mode at least, and the watch cut into ticks of ``tick`` minutes.

    ``chosen`` are the modes that may be gathered; ``near`` (nodes,) the minutes from the start or to the
    finish, whichever are less.
    """

    def __init__(self, near: FloatArray, arcs: Arcs, modes: Modes, chosen: IntArray, tick: float) -> None:
        self.moves = _moves(near, arcs, modes, chosen, tick)
        self.places, self.tick = len(self.moves.near), tick
        prizes, bits = np.unique(modes.prize[chosen], return_inverse=True)
        self.words = len(prizes) // BITS + 1
        #: Moves that gather, and what they add to a label's memory.
        self.gathers = np.flatnonzero(self.moves.mode >= 0)
        self.memory = np.zeros((len(self.moves.mode), self.words), dtype=np.uint64)
        bit = np.empty(len(modes.prize), dtype=np.int64)
        bit[chosen] = bits
        bit = bit[self.moves.mode[self.gathers]]
        self.word, self.mask = bit // BITS, _one_bit(bit)
        self.memory[self.gathers, self.word] = self.mask

    def best(self, worth: FloatArray, start: int, finish: int, minutes: float) -> list[int]:
        """Modes of the best way found from ``start`` to ``finish``, in order.

        ``worth`` (modes,) is what each mode is worth.
        Minutes are rounded to ticks, so that the way may take a little more or less than ``minutes``.
        """
        here, there = int(self.moves.place[start]), int(self.moves.place[finish])
        if min(here, there) < 0:
            return []
        last = max(int(minutes / self.tick), 1)
        first = int(self.moves.ticks.max())
        value = np.full((first + last + 1) * self.places, NOWHERE)
        seen = np.zeros((len(value), self.words), dtype=np.uint64)
        value[first * self.places + here] = 0
        choices = self._forward(worth, value, seen, first, last)
        reached = value[(first + last) * self.places + there] >= 0
        return self._back(choices, there) if reached else []

    def _gain(self, worth: FloatArray) -> tuple[IntArray, int]:
        """Worth of each move in whole numbers with its rank in the lowest bits, and the mask of those bits.

        So one maximum tells the most worth and the move that brings it.
        """
        rank, mode = self.moves.rank, self.moves.mode[self.gathers]
        low = 1 << int(rank.max()).bit_length()
        gain = np.zeros(len(rank), dtype=np.int64)
        gain[self.gathers] = np.rint(worth[mode] * (WHOLE // low / max(float(worth.sum()), 1e-300)))
        return gain * low + rank, low - 1

    def _forward(
        self, worth: FloatArray, value: IntArray, seen: npt.NDArray[np.uint64], first: int, last: int
    ) -> npt.NDArray[np.int32]:
        """Fill ``value`` and ``seen`` tick by tick; the move into every place that was best at every tick."""
        n, moves, gathers = self.places, self.moves, self.gathers
        gain, low = self._gain(worth)
        back = (first - moves.ticks) * n + moves.tail
        back_word, words = back[gathers] * self.words + self.word, seen.reshape(-1)
        choices, buffer = np.zeros((last + 1, n), dtype=np.int32), np.empty(len(gain), dtype=np.int64)
        open_places, open_moves, open_gathers = self._open(last)
        for k in range(1, last + 1):
            places, m, g = open_places[k], open_moves[k], open_gathers[k]
            got = value[k * n :].take(back[:m], out=buffer[:m], mode="clip")
            got += gain[:m]
            again = words[k * n * self.words :].take(back_word[:g]) & self.mask[:g]
            got[gathers[:g][again != 0]] = NOWHERE
            best = np.maximum.reduceat(got, moves.first[:places])
            rank = best & low
            now, choice = slice((first + k) * n, (first + k) * n + places), moves.first[:places] + rank
            choices[k, :places], value[now] = choice, best - rank
            label = seen[k * n :].take(back.take(choice), axis=0)
            seen[now] = np.bitwise_or(label, self.memory.take(choice, axis=0), out=label)
        return choices

    def _open(self, last: int) -> tuple[list[int], list[int], list[int]]:
        """How many places, moves and gathering moves matter at each tick.

        Who is there can have come in this time, and still gets home.
        """
        ticks = np.arange(last + 1)
        least = (np.minimum(ticks, last - ticks) + ROUNDED) * self.tick
        places = np.searchsorted(self.moves.near, least, side="right")
        moves = self.moves.first[places]
        return places.tolist(), moves.tolist(), np.searchsorted(self.gathers, moves).tolist()

    def _back(self, choices: npt.NDArray[np.int32], there: int) -> list[int]:
        """Modes on the way that ends at place ``there`` at the last tick."""
        k, place, sequence = len(choices) - 1, there, []
        while k > 0:
            move = int(choices[k, place])
            if (mode := int(self.moves.mode[move])) >= 0:
                sequence.append(mode)
            k, place = k - int(self.moves.ticks[move]), int(self.moves.tail[move])
        return sequence[::-1]


def on_the_way(
    to: FloatArray, back: FloatArray, arcs: Arcs, modes: Modes, minutes: float
) -> tuple[Arcs, IntArray]:
    """Arcs and modes that a way of so many minutes can hold.

    ``to`` (nodes,) is the shortest minutes from its start, ``back`` (nodes,) those to its finish.
    """
    keep = to[arcs.tail] + arcs.minutes + back[arcs.head] <= minutes
    chosen = np.flatnonzero(to[modes.entry] + modes.minutes + back[modes.exit] <= minutes)
    return Arcs(arcs.tail[keep], arcs.head[keep], arcs.minutes[keep], arcs.edge[keep]), chosen


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
