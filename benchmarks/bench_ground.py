"""Hosts in view, the network and the tree reader against the plainest way of doing the same."""

from __future__ import annotations

import csv
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from underoak.intake.trees import read_trees
from underoak.model.ground import Trail, Tree
from underoak.woods.exposure import REACH, SIGHT_M, hosts_in_view
from underoak.woods.geodesy import LocalPlane
from underoak.woods.trails import build_network

PLANE = LocalPlane(-74.5, 41.5)
SIDE_M = 4000.0


def best_of(runs: int, job: Callable[[], object]) -> float:
    """Shortest wall time of a job, s."""
    times = []
    for _ in range(runs):
        started = time.perf_counter()
        job()
        times.append(time.perf_counter() - started)
    return min(times)


def trails() -> list[Trail]:
    """A wood of 20 by 20 winding trails, 4 km across: about 800 edges."""
    rng = np.random.default_rng(1)
    lines = []
    for k in range(20):
        along = np.linspace(0.0, SIDE_M, 200)
        across = k * 200.0 + 100.0 + 20.0 * np.cumsum(rng.normal(0, 0.3, 200))
        lines += [np.column_stack([along, across]), np.column_stack([across, along])]
    return [
        Trail(str(k), "", tuple((float(x), float(y)) for x, y in PLANE.to_degrees(line)))
        for k, line in enumerate(lines)
    ]


def trees(count: int) -> list[Tree]:
    """Oaks scattered over the wood."""
    places = PLANE.to_degrees(np.random.default_rng(2).uniform(0.0, SIDE_M, (count, 2)))
    return [Tree(str(k), float(x), float(y), "oak", "oak") for k, (x, y) in enumerate(places)]


def every_pair(lines: list[np.ndarray], stems: np.ndarray) -> int:
    """Distance of every tree to every edge, vectorised over trees; how many are within reach."""
    near = 0
    for line in lines:
        start, step = line[:-1], np.diff(line, axis=0)
        share = np.clip(((stems[:, None] - start) * step).sum(-1) / (step**2).sum(-1), 0.0, 1.0)
        gap = np.linalg.norm(stems[:, None] - start - share[..., None] * step, axis=-1).min(axis=1)
        near += int((gap <= REACH * SIGHT_M).sum())
    return near


def main() -> None:
    """Print the ratios."""
    wood, oaks = trails(), trees(3000)
    network = build_network(wood)
    build_s = best_of(3, lambda: build_network(wood))
    print(f"network of {len(network.edges)} edges from {len(wood)} trails: {build_s:.2f} s")
    lines = [PLANE.to_plane(edge.points) for edge in network.edges]
    stems = PLANE.to_plane([(t.longitude_deg, t.latitude_deg) for t in oaks])
    ours, plain = (
        best_of(5, lambda: hosts_in_view(network, oaks)),
        best_of(1, lambda: every_pair(lines, stems)),
    )
    pairs = sum(len(seen) for seen in hosts_in_view(network, oaks))
    print(
        f"3000 trees in view of {len(lines)} edges: {ours:.3f} s; every pair: {plain:.3f} s; "
        f"ratio {plain / ours:.0f} ({pairs} pairs, {every_pair(lines, stems)} by every pair)"
    )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "trees.csv"
        rows = "".join(
            f"{t.latitude_deg:.6f},{t.longitude_deg:.6f},Quercus alba,{20 + k % 60}\n"
            for k, t in enumerate(trees(100_000))
        )
        path.write_text("lat,lon,species,dbh_in\n" + rows)

        def merely() -> int:
            with path.open(newline="") as file:
                return sum(1 for _ in csv.reader(file))

        ours, plain = best_of(2, lambda: read_trees(path)), best_of(3, merely)
    print(f"100,000 trees read and matched: {ours:.2f} s; csv alone {plain:.3f} s; ratio {ours / plain:.0f}")


if __name__ == "__main__":
    main()
