"""Where trails meet: crossings, touching ends and near misses become common nodes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

import numpy as np

from underoak.woods.geodesy import FloatArray

if TYPE_CHECKING:
    import numpy.typing as npt

#: Points nearer than this are one node [m]: a map's rounding, no distance anybody walks. Judgement.
MERGE_M = 1.5
#: Lines that stay near each other over twice this length run along each other [m]. Judgement.
ALONG_M = 20.0


@dataclass(frozen=True, slots=True)
class PlaneLine:
    """A trail in metres: ``xyz`` (n, 3), z is NaN where unknown; ``along`` (n,) distance from its start."""

    xyz: FloatArray
    along: FloatArray

    @property
    def length(self) -> float:
        """Whole length [m]."""
        return float(self.along[-1])

    def at(self, s: float | FloatArray) -> FloatArray:
        """Position (x, y, z) at distances ``s`` from the start; shape of ``s`` and 3."""
        return np.stack([np.interp(s, self.along, self.xyz[:, k]) for k in range(3)], axis=-1)

    def between(self, s1: float, s2: float) -> FloatArray:
        """The stretch from ``s1`` to ``s2`` with both ends, (m, 3)."""
        inner = (self.along > s1 + 1e-9) & (self.along < s2 - 1e-9)
        return np.vstack([self.at(s1), self.xyz[inner], self.at(s2)])


def plane_line(xy: FloatArray, z: FloatArray) -> PlaneLine | None:
    """A line without repeated points, or None when nothing is left of it."""
    keep = np.concatenate([[True], np.any(np.abs(np.diff(xy, axis=0)) > 1e-6, axis=1)])
    xyz = np.column_stack([xy, z])[keep]
    if len(xyz) < 2:
        return None
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(xyz[:, :2], axis=0).T))])
    return PlaneLine(xyz, along)


class Noding:
    """All places where lines are to be cut, and which of those places are one node."""

    def __init__(self, lines: Sequence[PlaneLine]) -> None:
        from shapely import STRtree, linestrings

        self.lines = lines
        self.places: list[tuple[int, float]] = []  # (line, distance along it)
        self.parent: list[int] = []
        self.kept: set[int] = set()
        starts = np.concatenate([line.xyz[:-1, :2] for line in lines])
        ends = np.concatenate([line.xyz[1:, :2] for line in lines])
        self.start, self.step = starts, ends - starts
        self.owner = np.concatenate([np.full(len(line.xyz) - 1, i) for i, line in enumerate(lines)])
        self.offset = np.concatenate([line.along[:-1] for line in lines])
        self.segments = cast("npt.NDArray[np.object_]", linestrings(np.stack([starts, ends], axis=1)))
        self.tree = STRtree(self.segments)
        for i, line in enumerate(lines):
            self.cut(i, 0.0)
            self.cut(i, line.length)

    def cut(self, line: int, s: float) -> int:
        """Cut ``line`` at distance ``s``; returns the number of the place."""
        self.places.append((line, float(min(max(s, 0.0), self.lines[line].length))))
        self.parent.append(len(self.parent))
        return len(self.parent) - 1

    def root(self, place: int) -> int:
        """The place that stands for all places joined with this one."""
        while self.parent[place] != place:
            self.parent[place] = self.parent[self.parent[place]]
            place = self.parent[place]
        return place

    def join(self, a: int, b: int) -> None:
        """Make two places one node."""
        a, b = self.root(a), self.root(b)
        if a != b:
            self.parent[max(a, b)] = min(a, b)

    def split_crossings(self) -> None:
        """Cut and join all lines where they cross, touch or run over each other."""
        i, j = self.tree.query(self.segments, predicate="intersects")
        same_or_next = (self.owner[i] == self.owner[j]) & (j - i <= 1)
        pairs = (i < j) & ~same_or_next
        for a, b in zip(i[pairs].tolist(), j[pairs].tolist(), strict=True):
            for t, u in self._meetings(a, b):
                first = self.cut(int(self.owner[a]), self.offset[a] + t * np.hypot(*self.step[a]))
                self.join(first, self.cut(int(self.owner[b]), self.offset[b] + u * np.hypot(*self.step[b])))

    def _meetings(self, a: int, b: int) -> list[tuple[float, float]]:
        """Shares (t, u) of the way along segments ``a`` and ``b`` where they meet."""
        p, r, q, s = self.start[a], self.step[a], self.start[b], self.step[b]
        cross = r[0] * s[1] - r[1] * s[0]
        gap = q - p
        if abs(cross) > 1e-9 * np.hypot(*r) * np.hypot(*s):
            t = (gap[0] * s[1] - gap[1] * s[0]) / cross
            u = (gap[0] * r[1] - gap[1] * r[0]) / cross
            return [(float(np.clip(t, 0, 1)), float(np.clip(u, 0, 1)))]
        on_a = [(_share(p, r, q), 0.0), (_share(p, r, q + s), 1.0)]
        on_b = [(0.0, _share(q, s, p)), (1.0, _share(q, s, p + r))]
        return [(t, u) for t, u in on_a + on_b if np.hypot(*(p + t * r - q - u * s)) < 0.05]

    def snap_ends(self, within_m: float) -> None:
        """Join each line's ends to the nearest other line no farther than ``within_m``."""
        from shapely import points

        for i, line in enumerate(self.lines):
            for s in (0.0, line.length):
                here = line.at(s)[:2]
                near = self.tree.query(points(here), predicate="dwithin", distance=within_m)
                own = (self.owner[near] == i) & (np.abs(self._along(near, here) - s) < 3.0 * within_m)
                near = near[~own]
                if len(near):
                    self.join(self.cut(i, s), self._cut_nearest(near, here, within_m))

    def cut_hairpins(self, within_m: float) -> None:
        """Cut each line where it turns back on itself, so that its way back is another stretch.

        Method: 20 m before and behind such a point the line is no farther from itself than ``within_m``.
        """
        for i, line in enumerate(self.lines):
            s = np.arange(ALONG_M, line.length - ALONG_M, ALONG_M / 4.0)
            gap = np.hypot(*(line.at(s + ALONG_M) - line.at(s - ALONG_M))[:, :2].T)
            turns = np.flatnonzero(gap <= within_m)
            for run in np.split(turns, np.flatnonzero(np.diff(turns) > 1) + 1):
                if len(run):
                    self.cut(i, float(s[run[np.argmin(gap[run])]]))

    def match_doubles(self, within_m: float) -> None:
        """Cut a line wherever another that runs along it within ``within_m`` is cut, and join the two.

        The other may be the same line on its way back. Method: a cut counts where the line it is on stays
        that near the other one 20 m before and behind it too; lines which merely cross are left alone.
        """
        lines, along = (np.array(column) for column in zip(*self.places, strict=True))
        here = self._positions(lines, along)
        place, segment = self._beside(lines, along, here, within_m)
        keys = place * len(self.lines) + self.owner[segment]
        both = np.unique(keys)
        for step_m in (-ALONG_M, ALONG_M):
            ends = np.array([line.length for line in self.lines])[lines]
            moved = np.clip(along + step_m, 0.0, ends)
            there, near = self._beside(lines, moved, self._positions(lines, moved), within_m)
            both = np.intersect1d(both, there * len(self.lines) + self.owner[near])
        for key in both.tolist():
            at = key // len(self.lines)
            self.join(at, self._cut_nearest(segment[keys == key], here[at], within_m))

    def _positions(self, lines: npt.NDArray[np.int64], along: FloatArray) -> FloatArray:
        """Positions (n, 2) at distances along lines."""
        xy = np.empty((len(lines), 2))
        for i in np.unique(lines).tolist():
            mine = np.flatnonzero(lines == i)
            xy[mine] = self.lines[i].at(along[mine])[:, :2]
        return xy

    def _beside(
        self, lines: npt.NDArray[np.int64], along: FloatArray, xy: FloatArray, within_m: float
    ) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
        """(position in ``xy``, segment) of all segments so near on other lines or elsewhere on its own."""
        from shapely import points

        stems: Any = points(xy)
        place, segment = self.tree.query(stems, predicate="dwithin", distance=within_m)
        elsewhere = np.abs(self._along(segment, xy[place]) - along[place]) > 3.0 * ALONG_M
        others = (self.owner[segment] != lines[place]) | elsewhere
        return place[others], segment[others]

    def attach(self, xy: FloatArray, within_m: float) -> bool:
        """Make a lasting node on the nearest line to a position; false when none is that near."""
        from shapely import points

        near = self.tree.query(points(xy), predicate="dwithin", distance=within_m)
        if not len(near):
            return False
        self.kept.add(self._cut_nearest(near, xy, 10.0))
        return True

    def _shares(self, segments: npt.NDArray[np.int64], xy: FloatArray) -> FloatArray:
        """Shares of the way along each segment at which it comes nearest to ``xy``."""
        start, step = self.start[segments], self.step[segments]
        shares: FloatArray = np.clip(((xy - start) * step).sum(axis=1) / (step**2).sum(axis=1), 0.0, 1.0)
        return shares

    def _along(self, segments: npt.NDArray[np.int64], xy: FloatArray) -> FloatArray:
        steps = np.hypot(self.step[segments, 0], self.step[segments, 1])
        along: FloatArray = self.offset[segments] + self._shares(segments, xy) * steps
        return along

    def _cut_nearest(self, segments: npt.NDArray[np.int64], xy: FloatArray, end_m: float) -> int:
        shares = self._shares(segments, xy)
        apart = self.start[segments] + shares[:, None] * self.step[segments] - xy
        best = int(np.argmin(np.hypot(apart[:, 0], apart[:, 1])))
        k = int(segments[best])
        line = int(self.owner[k])
        s = float(self.offset[k] + shares[best] * np.hypot(*self.step[k]))
        whole = self.lines[line].length
        if min(s, whole - s) < min(end_m, whole / 4):  # no stub shorter than the reach
            s = 0.0 if s < whole / 2 else whole
        return self.cut(line, s)

    def nodes(self) -> tuple[FloatArray, list[int], set[int]]:
        """Node positions (n, 3), the node of each place, and the nodes that must stay."""
        from shapely import STRtree, points

        owners, along = (np.array(column) for column in zip(*self.places, strict=True))
        xyz = np.empty((len(owners), 3))
        for i, line in enumerate(self.lines):
            mine = np.flatnonzero(owners == i)
            xyz[mine] = line.at(along[mine])
        stems: Any = points(xyz[:, :2])
        for a, b in STRtree(stems).query(stems, predicate="dwithin", distance=MERGE_M).T.tolist():
            if a < b:
                self.join(a, b)
        number: dict[int, int] = {}
        node_of = [number.setdefault(self.root(p), len(number)) for p in range(len(self.places))]
        return _means(xyz, np.array(node_of), len(number)), node_of, {node_of[p] for p in self.kept}

    def cuts_of(self, node_of: Sequence[int]) -> Iterable[list[tuple[float, int]]]:
        """For each line its cuts as (distance along, node), in order, without repetition."""
        by_line: list[list[tuple[float, int]]] = [[] for _ in self.lines]
        for (line, s), node in zip(self.places, node_of, strict=True):
            by_line[line].append((s, node))
        for cuts in by_line:
            cuts.sort()
            yield [
                c
                for k, c in enumerate(cuts)
                if not k or c[1] != cuts[k - 1][1] or c[0] - cuts[k - 1][0] > 20.0
            ]


def _share(p: FloatArray, r: FloatArray, q: FloatArray) -> float:
    return float(np.clip(np.dot(q - p, r) / np.dot(r, r), 0.0, 1.0))


def _means(xyz: FloatArray, group: npt.NDArray[np.int64], groups: int) -> FloatArray:
    """Mean position of each group, (groups, 3); unknown heights do not count."""
    known = np.isfinite(xyz)
    counts = np.stack([np.bincount(group, known[:, k], groups) for k in range(3)], axis=1)
    sums = np.stack(
        [np.bincount(group, np.where(known[:, k], xyz[:, k], 0.0), groups) for k in range(3)], axis=1
    )
    return np.where(counts > 0, sums / np.maximum(counts, 1), np.nan)
