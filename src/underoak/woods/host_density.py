"""Hosts in view where no tree is mapped: so many stems on a hectare along so many metres of trail."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from underoak.model.ground import HostPatch, Tree
from underoak.model.network import Network
from underoak.woods.exposure import SIGHT_M
from underoak.woods.geodesy import FloatArray, LocalPlane

M2_PER_HA = 10_000.0


def strip_half_width_m(sight_m: float = SIGHT_M) -> float:
    """Effective half-width of the strip a walker sees [m].

    Method: integral of the half-normal detection function, s sqrt(pi / 2): as many flushes are missed
    inside as are seen outside. Source: Buckland et al. 2001 (from memory).
    """
    return sight_m * float(np.sqrt(np.pi / 2.0))


def hosts_from_patches(
    network: Network, patches: Sequence[HostPatch], sight_m: float = SIGHT_M
) -> tuple[tuple[tuple[int, float], ...], ...]:
    """For each edge the patches it runs through, as (position in ``patches``, expected hosts in view).

    Parameters
    ----------
    network : edges with their lines
    patches : areas with stems on a hectare
    sight_m : scale of the detection function [m]

    Method
    ------
    Expected hosts = stems per m2 x length inside the patch x twice `strip_half_width_m` x the share of its
    strip that is the edge's own. Hosts beyond the rim of a patch are not counted, those of the strip outside
    it are: the two cancel on average. Where strips of two edges overlap, each has half of it, so that no
    host is paid twice; closed edges keep their half, so that closing a trail never makes another one richer.
    """
    from shapely import LineString, STRtree

    if not patches or not network.edges:
        return tuple(() for _ in network.edges)
    first = network.edges[0].points[0]
    plane = LocalPlane(*first)
    parts = [(p, part) for p, patch in enumerate(patches) for part in _area(plane, patch).geoms]
    areas = [part for _, part in parts]
    lines = [LineString(plane.to_plane(edge.points)) for edge in network.edges]
    inside: list[dict[int, float]] = [{} for _ in lines]  # metres in each patch
    for k, at in np.transpose(STRtree(areas).query(lines, predicate="intersects")).tolist():
        patch = parts[at][0]
        inside[k][patch] = inside[k].get(patch, 0.0) + lines[k].intersection(areas[at]).length
    width_m = 2.0 * strip_half_width_m(sight_m) * _own_share(lines, strip_half_width_m(sight_m))
    return tuple(
        tuple((p, patches[p].stems_ha / M2_PER_HA * m * seen_m) for p, m in sorted(metres.items()) if m > 0.0)
        for metres, seen_m in zip(inside, width_m.tolist(), strict=True)
    )


def _own_share(lines: Sequence[Any], half_m: float) -> FloatArray:
    """Share of each line's strip that is its own: less half of what it has in common with each other one.

    Fails towards: too little where three strips lie over each other, but never below a quarter.
    """
    import shapely

    strips = shapely.buffer(np.array(lines, dtype=object), half_m, cap_style="flat")
    whole = shapely.area(strips)
    a, b = shapely.STRtree(strips).query(strips, predicate="intersects")
    a, b = a[a < b], b[a < b]
    common = shapely.area(shapely.intersection(strips[a], strips[b])) / 2.0
    shared = np.bincount(a, common, len(lines)) + np.bincount(b, common, len(lines))
    share: FloatArray = np.clip(1.0 - shared / whole, 0.25, 1.0)
    return share


def unmapped(patches: Sequence[HostPatch], trees: Sequence[Tree]) -> tuple[HostPatch, ...]:
    """The patches less what is mapped in them, so that no host counts as a tree and as a density.

    Method: mapped stems of the same group inside a patch are taken off its density; nothing left, no patch.
    """
    import shapely

    left = []
    for patch in patches:
        mine = [t for t in trees if t.host_group == patch.host_group]
        plane = LocalPlane(*patch.polygons[0][0][0])
        area = _area(plane, patch)
        xy = plane.to_plane([(t.longitude_deg, t.latitude_deg) for t in mine])
        inside = int(np.count_nonzero(shapely.contains_xy(area, xy[:, 0], xy[:, 1]))) if mine else 0
        stems_ha = patch.stems_ha - inside / (area.area / M2_PER_HA)
        if stems_ha > 0.0:
            left.append(replace(patch, stems_ha=stems_ha))
    return tuple(left)


def _area(plane: LocalPlane, patch: HostPatch) -> Any:
    from shapely import MultiPolygon, Polygon

    rings = [[plane.to_plane(ring) for ring in polygon] for polygon in patch.polygons]
    return MultiPolygon([Polygon(outer, inner) for outer, *inner in rings])
