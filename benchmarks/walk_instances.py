"""Problems to measure the walk planner on: published sets, a real wood, generated woods and point sets."""

from __future__ import annotations

import csv
import json
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from tests.walk_cases import chao_diamond, chao_square, complete_problem

from underoak.model.ground import Trail
from underoak.walk.problem import Prize, WalkGraph, WalkProblem
from underoak.walk.travel_time import Pace, directed_minutes
from underoak.woods.trails import build_network, nearest_node

SHARED = Path(__file__).parents[1] / ".." / "shared" / "data"
ORIENTEERING = SHARED / "orienteering"
WOOD = SHARED / "bayreuth_woods"
Pair = tuple[int, int]
#: Picking [minutes for each kg], as in the earlier trials on this wood.
PICK_MIN_KG = 2.0


@dataclass(frozen=True)
class Case:
    """A named problem with the best score known and whether that is a proved optimum."""

    name: str
    problem: WalkProblem
    best: float
    proved: bool


def published_cases() -> list[Case]:
    """All Tsiligirides and Chao budgets with the best scores that hold under exact distances.

    The Chao sets come from their formula, the Tsiligirides sets from ../shared/data; [] without it.
    """
    if not ORIENTEERING.exists():
        return []
    with (ORIENTEERING / "best_known.csv").open() as file:
        rows = list(csv.DictReader(file))
    cases = []
    for row in rows:
        proved = row["status"] == "OPTIMAL"
        logged = [] if proved else [float(row[c]) for c in ("chao", "vns", "schildeGLS") if row[c]]
        best = max([float(row["my_cpsat_value"]), *logged])
        minutes = float(row["Tmax"])
        cases.append(
            Case(
                f"{row['set']}/{minutes:g}",
                complete_problem(_points(row["set"], minutes), minutes),
                best,
                proved,
            )
        )
    return cases


def _points(name: str, minutes: float) -> list[tuple[float, float, float]]:
    if name in ("C64", "C66"):
        return chao_diamond() if name == "C64" else chao_square()
    number = name[1]
    width = 3 if number == "3" else 2
    file = (
        ORIENTEERING
        / f"tsiligrides_problem{number}"
        / f"tsiligirides_problem_{number}_budget_{minutes:0{width}.0f}.txt"
    )
    rows = [line.split() for line in file.read_text().splitlines()[1:] if line.strip()]
    return [(float(x), float(y), float(s)) for x, y, s in rows]


#: Kinds of point sets: even, in clumps, every point worth 1, worth more the farther from the start.
KINDS = ("even", "clumped", "ones", "far")


def scattered(points: int, seed: int, *, share: float = 0.5, kind: str = "even") -> WalkProblem:
    """Points on a square with scores 1 + (7141 j + 73) mod 100, the rule of Fischetti et al. 1998.

    The budget is ``share`` of a round through all points: of the length 0.7124 sqrt(n A) that Beardwood,
    Halton, Hammersley 1959 foretell, in clumps of four fifths of the round that always goes to the nearest
    point. The kinds "ones" and "far" are the other two rules of Fischetti et al., 1 and 1 + 99 times the
    share of the farthest's distance. Both sources from memory.
    """
    rng = np.random.default_rng(seed)
    xy = rng.random((points, 2)) * 1000.0
    if kind == "clumped":
        centres = rng.random((max(points // 25, 4), 2)) * 1000.0
        xy = centres[rng.integers(len(centres), size=points)] + 50.0 * rng.standard_normal((points, 2))
    away = np.hypot(*(xy - xy[0]).T)
    score = {"ones": np.ones(points), "far": np.floor(1.0 + 99.0 * away / away.max())}.get(
        kind, 1.0 + (7141 * np.arange(points) + 73) % 100
    )
    rows = [(float(x), float(y), float(s)) for (x, y), s in zip(xy, score, strict=True)]
    rows[0] = (*rows[0][:2], 0.0)
    rows.insert(1, rows[0])
    whole = 0.7124 * math.sqrt(points) * 1000.0 if kind != "clumped" else 0.8 * _nearest_round(xy)
    return complete_problem(rows, share * whole)


def _nearest_round(xy: np.ndarray) -> float:
    """Length of the round that always goes to the nearest point left."""
    left, here, length = np.ones(len(xy), dtype=bool), 0, 0.0
    left[0] = False
    while left.any():
        far = np.where(left, np.hypot(*(xy - xy[here]).T), np.inf)
        here = int(far.argmin())
        left[here], length = False, length + float(far[here])
    return length + float(np.hypot(*(xy[here] - xy[0])))


def wood_problem(minutes: float, seed: int = 1, car_park: int = -1) -> tuple[WalkProblem, int]:
    """The real wood with synthetic, patchy prizes on its forest edges; and its number of edges."""
    trails, forests, parks = _wood_features()
    network = build_network(trails)
    there, back = directed_minutes(network, Pace())
    graph = _largest_part(network, there, back)
    lon, lat = parks[car_park]
    start, _ = nearest_node(network, lon, lat)
    prizes = _patchy(network, forests, seed)
    return WalkProblem(graph, prizes, start, start, minutes), len(network.edges)


def _wood_features() -> tuple[list[Trail], Any, list[tuple[float, float]]]:
    import shapely

    features = json.loads((WOOD / "bayreuth_woods.geojson").read_text())["features"]
    trails, forests, parks = [], [], []
    for number, feature in enumerate(features):
        kind, told, where = (
            feature["geometry"]["type"],
            feature["properties"],
            feature["geometry"]["coordinates"],
        )
        if kind == "LineString" and "highway" in told:
            trails.append(Trail(str(number), told.get("name", ""), tuple((p[0], p[1]) for p in where)))
        elif kind == "Polygon" and (told.get("landuse") == "forest" or told.get("natural") == "wood"):
            forests.append(shapely.Polygon(where[0]).buffer(0))
        elif told.get("amenity") == "parking":
            parks.append((float(np.mean([p[0] for p in where[0]])), float(np.mean([p[1] for p in where[0]]))))
    return trails, shapely.union_all(forests), parks


def _largest_part(network: Any, there: Any, back: Any) -> WalkGraph:
    ends = np.array([(e.start, e.end) for e in network.edges], dtype=np.int64)
    return WalkGraph(len(network.nodes), ends[:, 0], ends[:, 1], there, back)


def _patchy(network: Any, forests: Any, seed: int) -> tuple[Prize, ...]:
    import shapely

    rng = np.random.default_rng(seed)
    middles = np.array([e.points[len(e.points) // 2] for e in network.edges])
    lengths = np.array([e.length_m for e in network.edges])
    inside = shapely.contains_xy(forests, middles[:, 0], middles[:, 1])
    low, high = middles.min(axis=0), middles.max(axis=0)
    centres = low + (high - low) * rng.random((12, 2))
    strength, reach_m = rng.gamma(1.5, 1.0, 12), rng.uniform(200.0, 600.0, 12)
    apart = (middles[:, None, :] - centres) * [71_555.0, 111_320.0]
    density = (strength * np.exp(-((np.hypot(apart[..., 0], apart[..., 1]) / reach_m) ** 2))).sum(axis=1)
    kg = lengths * density * rng.gamma(1.0, 1.0, len(lengths)) * 0.0008
    return tuple(
        Prize(float(w), PICK_MIN_KG * float(w), edge=k) for k, w in enumerate(kg) if inside[k] and w > 0.005
    )


def generated_wood(edges: int, seed: int, minutes: float) -> WalkProblem:
    """A planar trail graph of about that many edges, 1.43 a node, with patchy prizes and known trees."""
    from scipy.spatial import Delaunay

    rng = np.random.default_rng(seed)
    nodes = round(edges / 1.43)
    side_m = 75.0 * math.sqrt(edges) * 2.2
    xy = rng.random((nodes, 2)) * side_m
    corners = Delaunay(xy).simplices
    sides = np.concatenate([corners[:, [0, 1]], corners[:, [1, 2]], corners[:, [0, 2]]])
    pairs: list[Pair] = sorted({(min(int(a), int(b)), max(int(a), int(b))) for a, b in sides})
    far = {p: float(np.hypot(*(xy[p[0]] - xy[p[1]]))) for p in pairs}
    chosen = _spanning(nodes, far)
    rest = sorted((p for p in pairs if p not in chosen), key=lambda p: far[p] * rng.uniform(0.6, 1.4))
    every = sorted(chosen | set(rest[: max(edges - len(chosen), 0)]))
    start = np.array([a for a, _ in every], dtype=np.int64)
    end = np.array([b for _, b in every], dtype=np.int64)
    length = np.array([far[p] for p in every]) * rng.uniform(1.0, 1.3, len(every))
    slope = rng.normal(0.0, 0.06, len(every))
    there = 0.06 * length / (6.0 * np.exp(-3.5 * np.abs(slope + 0.05)))
    back = 0.06 * length / (6.0 * np.exp(-3.5 * np.abs(-slope + 0.05)))
    middle = (xy[start] + xy[end]) / 2.0
    centres, reach = rng.random((10, 2)) * side_m, rng.uniform(0.06, 0.2, 10) * side_m
    gap = np.hypot(*(middle[:, None, :] - centres).transpose(2, 0, 1))
    kg = length * np.exp(-((gap / reach) ** 2)).sum(axis=1) * rng.gamma(1.0, 1.0, len(every)) * 0.0008
    prizes = [Prize(float(w), PICK_MIN_KG * float(w), edge=k) for k, w in enumerate(kg) if w > 0.005]
    prizes += [
        Prize(float(rng.gamma(1.0, 0.2)), 5.0, node=int(n)) for n in rng.choice(nodes, 15, replace=False)
    ]
    car = int(np.argmin(xy.sum(axis=1)))
    return WalkProblem(WalkGraph(nodes, start, end, there, back), tuple(prizes), car, car, minutes)


#: Best walks of long trials [kg]: the real wood by minutes, generated woods by edges, seed and minutes.
BEST_REAL = {90.0: 3.374, 120.0: 4.9196, 180.0: 6.9528}
BEST_GENERATED = {(200, 1, 180.0): 7.866, (400, 1, 120.0): 5.011, (400, 2, 180.0): 8.235}


def woods_with_best() -> dict[str, tuple[WalkProblem, float]]:
    """Woods by name with the best kilograms known; without ../shared/data only the generated ones."""
    woods = {}
    if WOOD.exists():
        for minutes, best in BEST_REAL.items():
            woods[f"real wood {minutes:g} min"] = wood_problem(minutes)[0], best
    for (edges, seed, minutes), best in BEST_GENERATED.items():
        woods[f"{edges} edges {minutes:g} min"] = generated_wood(edges, seed, minutes), best
    return woods


def _spanning(nodes: int, far: dict[Pair, float]) -> set[Pair]:
    root = list(range(nodes))

    def top(n: int) -> int:
        while root[n] != n:
            n = root[n]
        return n

    chosen = set()
    for a, b in sorted(far, key=lambda p: far[p]):
        if top(a) != top(b):
            root[top(a)] = top(b)
            chosen.add((a, b))
    return chosen
