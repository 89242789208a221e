"""Small and published problems for the tests of the walk, and an independent way to solve the small ones."""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Sequence

import numpy as np

from underoak.walk.problem import Prize, WalkGraph, WalkProblem, usable_kg


def graph_of(nodes: int, edges: Sequence[tuple[int, int, float, float]]) -> WalkGraph:
    """A graph from (start, end, minutes there, minutes back)."""
    table = np.array(edges, dtype=float).reshape(-1, 4)
    return WalkGraph(
        nodes, table[:, 0].astype(np.int64), table[:, 1].astype(np.int64), table[:, 2], table[:, 3]
    )


def best_by_enumeration(problem: WalkProblem) -> float | None:
    """Most kilograms of any walk: shortest times over (node, gathered set). None when no walk is in time.

    Knows nothing of the planner: prizes may be gathered on any pass, arcs walked as often as one likes.
    """
    graph, prizes = problem.graph, problem.prizes
    arcs: dict[int, list[tuple[int, float, int]]] = {n: [] for n in range(graph.nodes)}
    for edge, (a, b, there, back) in enumerate(
        zip(graph.start, graph.end, graph.forward_min, graph.backward_min, strict=True)
    ):
        arcs[int(a)].append((int(b), float(there), edge))
        arcs[int(b)].append((int(a), float(back), edge))
    on_edge = {e: [k for k, p in enumerate(prizes) if p.edge == e] for e in range(len(graph.start))}
    at_node = {n: [k for k, p in enumerate(prizes) if p.node == n] for n in range(graph.nodes)}
    least: dict[tuple[int, int], float] = {(problem.start, 0): 0.0}
    queue = [(0.0, problem.start, 0)]
    while queue:
        minutes, node, got = heapq.heappop(queue)
        if minutes > least[node, got]:
            continue
        options = [(node, minutes, at_node[node])]
        options += [
            (there, minutes + walk, on_edge[edge]) for there, walk, edge in arcs[node] if math.isfinite(walk)
        ]
        for there, clock, offered in options:
            left = [k for k in offered if not got >> k & 1]
            for some in itertools.chain.from_iterable(
                itertools.combinations(left, r) for r in range(len(left) + 1)
            ):
                now = clock + sum(prizes[k].minutes for k in some)
                state = (there, got | sum(1 << k for k in some))
                if now <= problem.minutes + 1e-9 and now < least.get(state, math.inf) - 1e-12:
                    least[state] = now
                    heapq.heappush(queue, (now, *state))
    must = sum(1 << k for k in problem.must_see)
    ends = [got for node, got in least if node == problem.finish and got & must == must]
    values = [usable_kg(problem, [k for k in range(len(prizes)) if got >> k & 1]) for got in ends]
    return max(values, default=None)


def complete_problem(points: Sequence[tuple[float, float, float]], minutes: float) -> WalkProblem:
    """The orienteering problem on the plane: (x, y, score) rows, start first, finish second, as published."""
    table = np.array(points, dtype=float)
    i, j = np.triu_indices(len(table), 1)
    far = np.hypot(table[i, 0] - table[j, 0], table[i, 1] - table[j, 1])
    graph = WalkGraph(len(table), i.astype(np.int64), j.astype(np.int64), far, far.copy())
    prizes = tuple(Prize(float(s), 0.0, node=k) for k, s in enumerate(table[:, 2]) if s > 0)
    return WalkProblem(graph, prizes, 0, 1, minutes)


def chao_square() -> list[tuple[float, float, float]]:
    """Set 66 of Chao, Golden, Wasil 1996, Eur. J. Oper. Res. 88: odd lattice, score 5 max(|x|, |y|)."""
    odd = range(-7, 8, 2)
    return [(-0.5, 0.0, 0.0), (0.5, 0.0, 0.0)] + [
        (float(x), float(y), 5.0 * max(abs(x), abs(y))) for x in odd for y in odd
    ]


def chao_diamond() -> list[tuple[float, float, float]]:
    """Set 64 of Chao, Golden, Wasil 1996: |x| + |y| <= 7, x + y odd, score 3 (|x| + 7 - |y|)."""
    inside = [
        (float(x), float(y), 3.0 * (abs(x) + 7 - abs(y)))
        for x in range(-7, 8)
        for y in range(-7, 8)
        if abs(x) + abs(y) <= 7 and (x + y) % 2 == 1 and (x, abs(y)) != (0, 7)
    ]
    return [(0.0, -7.0, 0.0), (0.0, 7.0, 0.0), *inside]
