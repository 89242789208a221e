"""Invented trails: a park's path network as bent lines between junctions."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from underoak.world.valley import Park, east_north_m, longitude_latitude

_NAMES = ("Old Cart Way", "Fern Path", "Owl Trail", "Stone Wall Path", "Brook Trail", "Hawk Lookout Trail")


@dataclass(frozen=True, slots=True)
class Path:
    """One invented stretch of path, as metres east and north of the home."""

    name: str
    surface: str
    points: tuple[tuple[float, float], ...]


def park_outline(park: Park) -> list[list[float]]:
    """A closed, slightly lumpy oval ring of (longitude, latitude)."""
    east, north = east_north_m(park.longitude_deg, park.latitude_deg)
    ring = []
    for step in range(48):
        angle = 2.0 * math.pi * step / 48
        lump = 1.0 + 0.06 * math.sin(3.0 * angle) + 0.04 * math.cos(5.0 * angle)
        ring.append(
            list(
                longitude_latitude(
                    east + park.east_m * lump * math.cos(angle), north + park.north_m * lump * math.sin(angle)
                )
            )
        )
    return [*ring, ring[0]]


def car_park_point(park: Park) -> tuple[float, float]:
    """Metres east and north of the car park, at the park's southern edge."""
    east, north = east_north_m(park.longitude_deg, park.latitude_deg)
    return east, north - 0.9 * park.north_m


def park_paths(park: Park, seed: int) -> list[Path]:
    """All paths of a park: a Delaunay net of junctions with its longest and some other sides left out."""
    rng = np.random.default_rng([seed, int(park.east_m)])
    nodes = _junctions(park, rng)
    return [
        Path(
            name=_NAMES[(a + b) % len(_NAMES)],
            surface="path" if (a * b) % 3 else "track",
            points=_bent_line(nodes[a], nodes[b], rng),
        )
        for a, b in _kept_sides(nodes, rng)
    ]


def _junctions(park: Park, rng: np.random.Generator) -> list[tuple[float, float]]:
    east, north = east_north_m(park.longitude_deg, park.latitude_deg)
    nodes = [car_park_point(park)]
    apart = 0.17 * min(park.east_m, park.north_m)
    while len(nodes) < 34:
        angle, radius = rng.uniform(0.0, 2.0 * math.pi), math.sqrt(rng.uniform(0.0, 0.8))
        node = (
            east + park.east_m * radius * math.cos(angle),
            north + park.north_m * radius * math.sin(angle),
        )
        if all(math.dist(node, other) > apart for other in nodes):
            nodes.append(node)
        else:
            apart *= 0.995
    return nodes


def _kept_sides(nodes: list[tuple[float, float]], rng: np.random.Generator) -> list[tuple[int, int]]:
    """A shortest spanning tree and half of the other short sides, so that loops and dead ends exist."""
    from scipy.spatial import Delaunay

    sides = {
        (int(min(a, b)), int(max(a, b)))
        for triangle in Delaunay(np.array(nodes)).simplices
        for a, b in ((triangle[0], triangle[1]), (triangle[1], triangle[2]), (triangle[0], triangle[2]))
    }
    by_length = sorted(sides, key=lambda side: (math.dist(nodes[side[0]], nodes[side[1]]), side))
    group = list(range(len(nodes)))
    kept = []
    for number, (a, b) in enumerate(by_length):
        joins = group[a] != group[b]
        if joins:
            group = [group[a] if g == group[b] else g for g in group]
        if joins or (number < 0.75 * len(by_length) and rng.random() < 0.5):
            kept.append((a, b))
    return kept


def _bent_line(
    start: tuple[float, float], end: tuple[float, float], rng: np.random.Generator
) -> tuple[tuple[float, float], ...]:
    length = math.dist(start, end)
    steps = max(2, round(length / 40.0))
    sway = rng.normal(0.0, 0.07 * length)
    across = (-(end[1] - start[1]) / length, (end[0] - start[0]) / length)
    points = []
    for step in range(steps + 1):
        share = step / steps
        aside = sway * math.sin(math.pi * share)
        points.append(
            (
                start[0] + share * (end[0] - start[0]) + aside * across[0],
                start[1] + share * (end[1] - start[1]) + aside * across[1],
            )
        )
    return tuple(points)
