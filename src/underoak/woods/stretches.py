"""Stretches of trail between nodes: doubles dropped, chains contracted, long ones cut."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from underoak.model.ground import Trail
from underoak.woods.geodesy import FloatArray


@dataclass(frozen=True, slots=True)
class Stretch:
    """A line ``xyz`` (n, 3) in metres from node ``start`` to node ``end``, and the trail it belongs to."""

    start: int
    end: int
    xyz: FloatArray
    trail: Trail

    @property
    def length(self) -> float:
        """Length on the plane [m]."""
        return float(np.hypot(*np.diff(self.xyz[:, :2], axis=0).T).sum())

    def turned(self) -> Stretch:
        """The same stretch from its end to its start."""
        return Stretch(self.end, self.start, self.xyz[::-1], self.trail)


def without_doubles(stretches: Iterable[Stretch], within_m: float) -> list[Stretch]:
    """Drop a stretch that runs along another between the same nodes, never farther off than ``within_m``.

    Fails towards: if one of the two is closed or one-way, so is the one that stays. Two that may be walked
    in opposite directions only are both kept.
    """
    kept: list[Stretch] = []
    by_ends: dict[tuple[int, int], list[int]] = {}
    for stretch in stretches:
        key = (min(stretch.start, stretch.end), max(stretch.start, stretch.end))
        twin = next((k for k in by_ends.get(key, []) if _side_by_side(kept[k], stretch, within_m)), None)
        if twin is None:
            by_ends.setdefault(key, []).append(len(kept))
            kept.append(stretch)
        else:
            stays = stretch if stretch.trail.oneway else kept[twin]
            closed = stretch.trail.closed or kept[twin].trail.closed
            kept[twin] = replace(stays, trail=replace(stays.trail, closed=closed))
    return kept


def _side_by_side(a: Stretch, b: Stretch, within_m: float) -> bool:
    if a.trail.oneway and b.trail.oneway and a.start != b.start:
        return False
    if abs(a.length - b.length) > 0.1 * a.length + within_m:
        return False
    from shapely import LineString, hausdorff_distance

    return bool(hausdorff_distance(LineString(a.xyz[:, :2]), LineString(b.xyz[:, :2])) <= within_m)


def contracted(stretches: Sequence[Stretch], keep: set[int]) -> list[Stretch]:
    """Join stretches that meet at a node of two ends, unless the node is in ``keep``.

    Only stretches of one name, surface, direction and closure are joined.
    """
    live: dict[int, Stretch] = dict(enumerate(stretches))
    at: dict[int, list[int]] = {}
    for k, stretch in live.items():
        at.setdefault(stretch.start, []).append(k)
        at.setdefault(stretch.end, []).append(k)
    for node, meeting in at.items():
        if node in keep or len(meeting) != 2 or meeting[0] == meeting[1]:
            continue
        joined = _joined(live[meeting[0]], live[meeting[1]], node)
        if joined is None:
            continue
        first, second = meeting
        live[first] = joined
        del live[second]
        at[joined.end] = [first if k == second else k for k in at[joined.end]]
        at[joined.start] = [first if k == second else k for k in at[joined.start]]
    return list(live.values())


def _joined(a: Stretch, b: Stretch, node: int) -> Stretch | None:
    if _kind(a.trail) != _kind(b.trail):
        return None
    if a.trail.oneway and (a.end == node) != (b.start == node):
        return None  # two one-way stretches that meet head on
    if a.trail.oneway and a.end != node:
        a, b = b, a
    if a.end != node:
        a = a.turned()
    if b.start != node:
        b = b.turned()
    return Stretch(a.start, b.end, np.vstack([a.xyz, b.xyz[1:]]), a.trail)


def _kind(trail: Trail) -> tuple[str, str, bool, bool]:
    return trail.name, trail.surface, trail.oneway, trail.closed


def cut_long(stretches: Iterable[Stretch], most_m: float, nodes: list[FloatArray]) -> list[Stretch]:
    """Cut into equal pieces no longer than ``most_m``; new nodes are appended to ``nodes``.

    A stretch that returns to its own start becomes at least three pieces, so no edge is a loop.
    """
    pieces: list[Stretch] = []
    for stretch in stretches:
        count = max(int(np.ceil(stretch.length / most_m)), 3 if stretch.start == stretch.end else 1)
        along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(stretch.xyz[:, :2], axis=0).T))])
        marks = np.linspace(0.0, along[-1], count + 1)
        ends = [stretch.start]
        for mark in marks[1:-1]:
            nodes.append(_at(stretch.xyz, along, mark))
            ends.append(len(nodes) - 1)
        ends.append(stretch.end)
        for k in range(count):
            inner = (along > marks[k] + 1e-9) & (along < marks[k + 1] - 1e-9)
            head, tail = _at(stretch.xyz, along, marks[k]), _at(stretch.xyz, along, marks[k + 1])
            xyz = np.vstack([head, stretch.xyz[inner], tail])
            pieces.append(Stretch(ends[k], ends[k + 1], xyz, stretch.trail))
    return pieces


def _at(xyz: FloatArray, along: FloatArray, s: float) -> FloatArray:
    return np.array([np.interp(s, along, xyz[:, k]) for k in range(3)])
