"""A walk over points as a chain that is quick to open, close and turn round in one place.

Everything here looks only at a point's nearest points, so that a change costs as much among a
thousand points as among fifty. Plain lists on purpose: each look takes a few numbers only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.walk.tour import Lay

#: Points looked at around a point: the nearest, those no nearer one hides, those taken out together.
NEAREST, UNHIDDEN, AROUND = 10, 6, 40
#: Minutes of a link that is never cut, and the least that a change has to save, against endless loops.
FAR, LEAST_MIN = 1e7, 1e-9
#: Longest stretch that is put elsewhere as a whole.
LONGEST = 3


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """Where prizes lie at points, with the same minutes there and back.

    Points 0 to ``count`` - 1 are the modes, then follow the start, the finish, and a point between these two
    that closes the chain to a ring. ``minutes`` (points, points) counts half of what gathering takes at
    either end; ``kg`` (points,) what each brings; ``kept`` (points,) what must not be left out.
    ``near`` are the nearest points of each but the last with their minutes, nearest first; ``around`` more of
    them, modes only.
    """

    count: int
    budget: float
    minutes: list[list[float]]
    kg: list[float]
    kept: list[bool]
    near: list[list[tuple[float, int]]]
    around: list[list[int]]


def points_of(lay: Lay, must_modes: npt.NDArray[np.bool_]) -> Points | None:
    """The modes as points; None where one is gathered along an edge or a way differs from the way back."""
    modes, m = lay.modes, len(lay.modes.prize)
    if not np.array_equal(modes.entry, modes.exit):
        return None
    node = np.concatenate((modes.entry, [lay.start, lay.finish]))
    own = np.concatenate((modes.minutes, [0.0, 0.0]))
    ways = lay.ways.minutes[np.ix_(node, node)]
    if not (np.isfinite(ways).all() and np.allclose(ways, ways.T, rtol=1e-9, atol=1e-9)):
        return None
    minutes = ways + 0.5 * (own[:, None] + own)
    np.fill_diagonal(minutes, np.inf)
    minutes[m, m + 1] = minutes[m + 1, m] = np.inf
    order = np.argsort(minutes, axis=1, kind="stable")[:, : min(AROUND, m)]
    far_ones = _unhidden(minutes)
    minutes = np.pad(minutes, (0, 1))
    minutes[m, m + 1] = minutes[m + 1, m] = ways[m, m + 1]
    minutes[m : m + 2, m + 2] = minutes[m + 2, m : m + 2] = -FAR
    table = minutes.tolist()
    return Points(
        m,
        lay.minutes,
        table,
        [*modes.kg.tolist(), 0.0, 0.0, 0.0],
        [*must_modes.tolist(), True, True, True],
        [
            sorted((table[a][c], c) for c in {*row[:NEAREST], *unhidden})
            for a, (row, unhidden) in enumerate(zip(order.tolist(), far_ones, strict=True))
        ],
        [[c for c in row if c < m] for row in order.tolist()],
    )


def _unhidden(minutes: npt.NDArray[np.float64]) -> list[list[int]]:
    """For each point those that no nearer one hides: none is nearer both to the point and to them.

    So points in clumps know the way to other clumps. Source: relative neighbourhood graph, Toussaint 1980,
    Pattern Recognition 12 (from memory).
    """
    found = []
    for from_a in minutes:
        left, seen = from_a.copy(), list[int]()
        while len(seen) < UNHIDDEN and np.isfinite(left[nearest := int(left.argmin())]):
            seen.append(nearest)
            left[minutes[nearest] < from_a] = np.inf
            left[nearest] = np.inf
        found.append(seen)
    return found


class Chain:
    """One walk: ``after`` and ``before`` (points,) are each point's neighbours, -1 where not visited."""

    def __init__(self, points: Points) -> None:
        self.points, self.far = points, points.minutes
        self.load([])

    def load(self, sequence: list[int]) -> None:
        """Become the walk over these points."""
        p, m = self.points, self.points.count
        self.after, self.before = [-1] * (m + 3), [-1] * (m + 3)
        way = [m, *sequence, m + 1]
        self._join([m + 2, *way, m + 2])
        self.length = sum(p.minutes[a][b] for a, b in pairwise(way))
        self.kg = sum(p.kg[a] for a in sequence)

    def sequence(self) -> list[int]:
        """The points visited, from start to finish."""
        m = self.points.count
        onward = self.before if self.after[m] == m + 2 else self.after
        visited, c = [], onward[m]
        while c != m + 1:
            visited.append(c)
            c = onward[c]
        return visited

    def take_out(self, c: int) -> None:
        """Leave a visited point out."""
        a, b = self.before[c], self.after[c]
        self.length -= self.saved(c)
        self.kg -= self.points.kg[c]
        self.after[a], self.before[b] = b, a
        self.after[c] = self.before[c] = -1

    def put_in(self, c: int, a: int, more: float) -> None:
        """Visit ``c`` after ``a``, which takes so many minutes more."""
        b = self.after[a]
        self.after[a] = self.before[b] = c
        self.before[c], self.after[c] = a, b
        self.length += more
        self.kg += self.points.kg[c]

    def saved(self, c: int) -> float:
        """Minutes saved without a visited point."""
        a, b, far = self.before[c], self.after[c], self.points.minutes
        return far[c][a] + far[c][b] - far[a][b]

    def gap(self, c: int) -> tuple[float, int]:
        """Least minutes more to visit ``c``, and after which point; (inf, -1) when none near is visited."""
        far, after, before = self.far, self.after, self.before
        from_c, least, at = far[c], math.inf, -1
        for there, e in self.points.near[c]:
            b = after[e]
            if b >= 0:
                from_e = far[e]
                more = there + from_c[b] - from_e[b]
                if more < least:
                    least, at = more, e
                a = before[e]
                more = there + from_c[a] - from_e[a]
                if more < least:
                    least, at = more, a
        return least, at

    def polish(self, touched: list[int]) -> None:
        """Shorten the walk around these points by turning and moving stretches, until nothing is saved."""
        queue = list(dict.fromkeys(touched))
        while queue:
            a = queue.pop()
            if self.after[a] >= 0:
                queue += self._turned(a) or (self._moved(a) if a < self.points.count else ())

    def _turned(self, a: int) -> tuple[int, ...]:
        """Turn a stretch with ``a`` at its border if it saves minutes; the points at its ends, else ()."""
        far, near = self.far, self.points.near[a]
        from_a = far[a]
        for onward in (self.after, self.before):
            s = onward[a]
            link, from_s = from_a[s], far[s]
            for there, c in near:
                gain = link - there
                if gain <= LEAST_MIN:
                    break
                t = onward[c]
                if t < 0:
                    continue
                gain += far[c][t] - from_s[t]
                if gain > LEAST_MIN:
                    self._turn(*((a, s, c, t) if onward is self.after else (s, a, t, c)))
                    self.length -= gain
                    return a, s, c, t
        return ()

    def _turn(self, a: int, s: int, c: int, t: int) -> None:
        """Links a-s and c-t become a-c and s-t: the shorter of both sides is walked the other way round."""
        after, one, other = self.after, [s], [t]
        while one[-1] != c and other[-1] != a:
            one.append(after[one[-1]])
            other.append(after[other[-1]])
        self._join([a, *reversed(one), t] if one[-1] == c else [c, *reversed(other), s])

    def _moved(self, a: int) -> tuple[int, ...]:
        """Put the stretch that begins at ``a`` where it saves minutes; the points concerned, () if none."""
        far, m, from_a, after, before = self.far, self.points.count, self.far[a], self.after, self.before
        nearest = self.points.near[a][0][0] + LEAST_MIN
        for onward, back in ((after, before), (before, after)):
            o, e = back[a], a
            from_o, link = far[o], from_a[o]
            for length in range(1, LONGEST + 1):
                f = onward[e]
                saved = link + far[e][f] - from_o[f]
                if saved > nearest and (places := self._elsewhere(a, e, length, saved, onward)):
                    c, t, beside, gain = places
                    stretch = [a]
                    while stretch[-1] != e:
                        stretch.append(onward[stretch[-1]])
                    self._join([o, f] if onward is after else [f, o])
                    between = [c, *stretch, t]
                    self._join(between if beside is after else between[::-1])
                    self.length -= gain
                    return a, e, o, f, c, t
                e = f
                if e >= m:
                    break
        return ()

    def _elsewhere(
        self, a: int, e: int, length: int, saved: float, onward: list[int]
    ) -> tuple[int, int, list[int], float] | None:
        """A gap where the stretch a to e saves minutes: its ends, the list they follow in, minutes."""
        far, after, before = self.far, self.after, self.before
        from_e = far[e]
        middle = onward[a] if length > 2 else -1
        for there, c in self.points.near[a]:
            left = saved - there
            if left <= LEAST_MIN:
                return None
            if after[c] < 0 or c in (e, middle):
                continue
            from_c = far[c]
            for beside in (after, before):
                t = beside[c]
                if t not in (a, e) and left - from_e[t] + from_c[t] > LEAST_MIN:
                    return c, t, beside, left - from_e[t] + from_c[t]
        return None

    def _join(self, way: list[int]) -> None:
        """Link each point of the way with the next."""
        after, before = self.after, self.before
        for x, y in pairwise(way):
            after[x], before[y] = y, x
