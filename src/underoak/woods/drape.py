"""Elevation laid along the stretches of a network."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from underoak.model.ground import Terrain
from underoak.woods.geodesy import FloatArray, LocalPlane, line_length_m
from underoak.woods.stretches import Stretch
from underoak.woods.terrain import elevation_at

#: How often the elevation is read along a stretch [m].
STEP_M = 25.0

#: Recorded heights are averaged over so much of the way before and behind [m]: a receiver under trees errs by
#: some metres from point to point, which would read as cliffs. Judgement.
SMOOTH_M = 50.0

Profile = tuple[tuple[float, float], ...]


def draped(
    stretches: Sequence[Stretch],
    ends: Sequence[tuple[int, int]],
    node_heights_m: FloatArray,
    plane: LocalPlane,
    terrain: Terrain | None,
) -> tuple[list[Profile], FloatArray]:
    """Profiles (distance_m, elevation_m) of all stretches, and the elevation of all nodes.

    Parameters
    ----------
    stretches : lines in the plane
    ends : for each the numbers of its two nodes
    node_heights_m : mean recorded elevation at each node, NaN where nothing was recorded
    plane : the plane of the lines
    terrain : elevation grid, or None

    Method
    ------
    The grid counts where it is known, else the recorded elevation as `smoothed` left it; gaps are
    interpolated along the stretch; a stretch of which nothing is known lies level at its nodes' height, else
    at 0 m.
    """
    samples = _samples(stretches, plane, terrain)
    heights = _node_heights(samples, ends, node_heights_m, terrain)
    profiles = []
    for (distance, z), (a, b) in zip(samples, ends, strict=True):
        z[0], z[-1] = heights[a], heights[b]
        known = np.isfinite(z)
        filled = np.interp(distance, distance[known], z[known])
        profiles.append(tuple((float(d), float(h)) for d, h in zip(distance, filled, strict=True)))
    return profiles, heights


def smoothed(along_m: FloatArray, heights_m: FloatArray) -> FloatArray:
    """Recorded heights averaged over 50 m of the way to either side.

    Parameters
    ----------
    along_m : distance of each point from the start [m], shape (n,), growing
    heights_m : [m], shape (n,), all known or all NaN

    Method
    ------
    Mean of the straight lines between the points over as much of the way behind as before, up to 50 m, less
    near the ends: an even slope stays as it is, and so do both ends.
    """
    steps = np.diff(along_m)
    area = np.concatenate([[0.0], np.cumsum(steps * (heights_m[:-1] + heights_m[1:]) / 2.0)])

    def below(s: FloatArray) -> FloatArray:
        """Area under the heights from the start to ``s``."""
        k = np.clip(np.searchsorted(along_m, s, side="right") - 1, 0, len(steps) - 1)
        into = s - along_m[k]
        rise = (heights_m[k + 1] - heights_m[k]) / steps[k]
        area_to: FloatArray = area[k] + into * (heights_m[k] + rise * into / 2.0)
        return area_to

    half = np.minimum(SMOOTH_M, np.minimum(along_m, along_m[-1] - along_m))
    inner = half > 1e-6
    mean = heights_m.copy()
    reach = half[inner]
    mean[inner] = (below(along_m[inner] + reach) - below(along_m[inner] - reach)) / (2.0 * reach)
    return mean


def _samples(
    stretches: Sequence[Stretch], plane: LocalPlane, terrain: Terrain | None
) -> list[tuple[FloatArray, FloatArray]]:
    """For each stretch distances [m] every 25 m or so, and the elevation there, NaN where unknown."""
    samples: list[tuple[FloatArray, FloatArray]] = []
    places: list[FloatArray] = []
    for stretch in stretches:
        degrees = plane.to_degrees(stretch.xyz[:, :2])
        along = line_length_m(degrees)
        distance = np.linspace(0.0, along[-1], max(1, round(along[-1] / STEP_M)) + 1)
        samples.append((distance, np.interp(distance, along, stretch.xyz[:, 2])))
        places.append(np.stack([np.interp(distance, along, degrees[:, k]) for k in (0, 1)]))
    if terrain is None or not places:
        return samples
    grid = elevation_at(terrain, *np.concatenate(places, axis=1))
    cuts = np.cumsum([place.shape[1] for place in places])[:-1]
    return [
        (distance, np.where(np.isfinite(known), known, z))
        for (distance, z), known in zip(samples, np.split(grid, cuts), strict=True)
    ]


def _node_heights(
    samples: Sequence[tuple[FloatArray, FloatArray]],
    ends: Sequence[tuple[int, int]],
    recorded_m: FloatArray,
    terrain: Terrain | None,
) -> FloatArray:
    heights = recorded_m.copy()
    for (_, z), (a, b) in zip(samples, ends, strict=True):
        for node, own in ((a, z[0]), (b, z[-1])):
            if np.isfinite(own) and (terrain is not None or not np.isfinite(heights[node])):
                heights[node] = own
    for (_, z), (a, b) in zip(samples, ends, strict=True):
        known = z[np.isfinite(z)]
        for node in (a, b):
            if not np.isfinite(heights[node]) and len(known):
                heights[node] = known[0] if node == a else known[-1]
    return _spread(heights, ends)


def _spread(heights: FloatArray, ends: Sequence[tuple[int, int]]) -> FloatArray:
    """Unknown heights take that of a neighbour, over as many edges as needed; at last 0."""
    while np.isnan(heights).any():
        before = int(np.isnan(heights).sum())
        for a, b in ends:
            if np.isnan(heights[a]):
                heights[a] = heights[b]
            elif np.isnan(heights[b]):
                heights[b] = heights[a]
        if int(np.isnan(heights).sum()) == before:
            break
    return np.nan_to_num(heights)
