"""One ordered choice of prizes, and the cheapest place to put each of the others."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.walk.closure import Modes, Ways

    FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Lay:
    """What the search looks up again and again, laid out for whole-array arithmetic.

    ``to_mode`` (nodes, modes) is minutes from a node to the mode's entry and through it;
    ``from_mode`` (nodes, modes) minutes from the mode's exit to a node.
    """

    modes: Modes
    ways: Ways
    start: int
    finish: int
    minutes: float
    to_mode: FloatArray
    from_mode: FloatArray


def lay_out(modes: Modes, ways: Ways, start: int, finish: int, minutes: float) -> Lay:
    """The look-up tables of a search."""
    to_mode = ways.minutes[:, modes.entry] + modes.minutes
    from_mode = np.ascontiguousarray(ways.minutes[modes.exit, :].T)
    return Lay(modes, ways, start, finish, minutes, np.ascontiguousarray(to_mode), from_mode)


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
    if not sequence:
        return float(lay.ways.minutes[lay.start, lay.finish])
    s = np.array(sequence)
    leave = np.concatenate(([lay.start], lay.modes.exit[s]))
    enter = np.concatenate((lay.modes.entry[s], [lay.finish]))
    return float(lay.ways.between(leave, enter).sum() + lay.modes.minutes[s].sum())


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
        modes = lay.modes
        s = np.array(sequence, dtype=np.int64)
        leave = np.concatenate(([lay.start], modes.exit[s]))
        enter = np.concatenate((modes.entry[s], [lay.finish]))
        count, room = len(leave), 2 * len(leave) + 64
        self.order = list(range(count))
        self.rows = np.empty((room, len(modes.prize)))
        direct = lay.ways.between(leave, enter)
        np.add(lay.to_mode[leave], lay.from_mode[enter], out=self.rows[:count])
        self.rows[:count] -= direct[:, None]
        self.ends = list(zip(leave.tolist(), enter.tolist(), strict=True))
        self.used = count
        self.least = self.rows[:count].min(axis=0)

    def insert(self, sequence: list[int], mode: int) -> float:
        """Put ``mode`` into its cheapest gap of ``sequence``; returns the extra minutes."""
        lay, extra = self.lay, float(self.least[mode])
        gap = int(self.rows[: self.used, mode].argmin())
        place = self.order.index(gap)
        sequence.insert(place, mode)
        stale = np.flatnonzero(self.rows[gap] == self.least)
        before, after = self.ends[gap]
        new = self._row(int(lay.modes.exit[mode]), after)
        self._fill(gap, before, int(lay.modes.entry[mode]))
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
        self.rows[row] -= lay.ways.minutes[leave, enter]
