"""One ordered choice of prizes, and the cheapest place to put each of the others."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.walk.closure import Modes, Ways

    FloatArray = npt.NDArray[np.float64]
    IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Lay:
    """What the search looks up again and again, laid out for whole-array arithmetic.

    A place is a mode, or ``end`` = number of modes: the start where one leaves, the finish where one enters.
    ``link`` (places, places) is the minutes from where the one is left to where the other is entered.
    What is gathered along an edge in one direction, one right after the other, is walked along once: there
    the link takes back the second walk. ``to_mode`` (places, modes) is the link to a mode and the mode's
    minutes, ``from_mode`` (places, modes) the link from the mode to the place.
    """

    modes: Modes
    ways: Ways
    start: int
    finish: int
    minutes: float
    end: int
    link: FloatArray
    to_mode: FloatArray
    from_mode: FloatArray

    def between(self, leave: IntArray, enter: IntArray) -> FloatArray:
        """Links from places to places, of the shape that both broadcast to; quicker than picking by pairs."""
        minutes: FloatArray = self.link.take(leave * (self.end + 1) + enter)
        return minutes

    def ends(self, sequence: list[int]) -> tuple[IntArray, IntArray]:
        """Places left and places entered on the links of a sequence, each of shape (modes of it + 1,)."""
        return np.array([self.end, *sequence]), np.array([*sequence, self.end])

    def leaves(self, sequence: list[int]) -> int:
        """The node where a sequence from the start on ends."""
        return int(self.modes.exit[sequence[-1]]) if sequence else self.start

    def enters(self, sequence: list[int]) -> int:
        """The node where a sequence up to the finish begins."""
        return int(self.modes.entry[sequence[0]]) if sequence else self.finish


def lay_out(modes: Modes, ways: Ways, start: int, finish: int, minutes: float) -> Lay:
    """The look-up tables of a search."""
    end = len(modes.prize)
    leave, enter = np.concatenate((modes.exit, [start])), np.concatenate((modes.entry, [finish]))
    link = ways.minutes[np.ix_(leave, enter)]
    edge, entry, prize = modes.edge, modes.entry, modes.prize
    at_once = (edge[:, None] == edge) & (entry[:, None] == entry) & (prize[:, None] != prize) & (edge >= 0)
    link[:end, :end] = np.where(at_once, -modes.walk_min, link[:end, :end])
    to_mode, from_mode = link[:, :end] + modes.minutes, np.ascontiguousarray(link[:end].T)
    return Lay(modes, ways, start, finish, minutes, end, link, to_mode, from_mode)


@dataclass(slots=True)
class Tour:
    """A sequence of modes between start and finish with its minutes and kilograms."""

    sequence: list[int] = field(default_factory=list)
    minutes: float = 0.0
    kg: float = 0.0

    def copy(self) -> Tour:
        """The same tour, to change freely."""
        return Tour(list(self.sequence), self.minutes, self.kg)


def tour_minutes(lay: Lay, sequence: list[int]) -> float:
    """Minutes of a sequence, walking and gathering together."""
    leave, enter = lay.ends(sequence)
    gathering = float(lay.modes.minutes[sequence].sum()) if sequence else 0.0
    return gathering + float(lay.between(leave, enter).sum())


def tour_of(lay: Lay, sequence: list[int]) -> Tour:
    """The tour with its minutes and kilograms counted afresh."""
    return Tour(
        sequence, tour_minutes(lay, sequence), float(lay.modes.kg[sequence].sum()) if sequence else 0.0
    )


class Gaps:
    """Extra minutes to put each mode between each pair of neighbours, kept up to date.

    ``least`` (modes,) is the least over all gaps.
    """

    def __init__(self, lay: Lay, sequence: list[int]) -> None:
        self.lay = lay
        leave, enter = lay.ends(sequence)
        count, room = len(leave), 2 * len(leave) + 64
        self.order = list(range(count))
        self.rows = np.empty((room, lay.end))
        direct = lay.between(leave, enter)
        np.add(lay.to_mode[leave], lay.from_mode[enter], out=self.rows[:count])
        self.rows[:count] -= direct[:, None]
        self.ends = list(zip(leave.tolist(), enter.tolist(), strict=True))
        self.used = count
        self.least = self.rows[:count].min(axis=0)

    def insert(self, sequence: list[int], mode: int) -> float:
        """Put ``mode`` into its cheapest gap of ``sequence``; returns the extra minutes."""
        extra = float(self.least[mode])
        gap = int(self.rows[: self.used, mode].argmin())
        place = self.order.index(gap)
        sequence.insert(place, mode)
        stale = np.flatnonzero(self.rows[gap] == self.least)
        before, after = self.ends[gap]
        new = self._row(mode, after)
        self._fill(gap, before, mode)
        self.order.insert(place + 1, new)
        self.least[stale] = self.rows[: self.used, stale].min(axis=0)
        np.minimum(self.least, self.rows[gap], out=self.least)
        np.minimum(self.least, self.rows[new], out=self.least)
        return extra

    def _row(self, leave: int, enter: int) -> int:
        if self.used == len(self.rows):
            self.rows = np.concatenate((self.rows, np.empty_like(self.rows)))
        row = self.used
        self.used += 1
        self.ends.append((leave, enter))
        self._fill(row, leave, enter)
        return row

    def _fill(self, row: int, leave: int, enter: int) -> None:
        lay = self.lay
        self.ends[row] = (leave, enter)
        np.add(lay.to_mode[leave], lay.from_mode[enter], out=self.rows[row])
        self.rows[row] -= lay.link[leave, enter]
