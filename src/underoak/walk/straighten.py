"""Ways there and back for which nothing is gathered that does not lie elsewhere on the walk too."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from underoak.walk.result import result_of

if TYPE_CHECKING:
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import Step, WalkResult


def straightened(problem: WalkProblem, result: WalkResult) -> WalkResult:
    """The walk without rounds that it does not need: the same prizes in fewer minutes.

    A search may come back to an edge for a prize that it could have gathered before.

    Method: again and again the longest stretch of steps that ends where it began, while every edge and node
    with a gathered prize is passed on the rest of the walk.
    """
    steps: list[Step] = [(leg.edge, leg.forward) for leg in result.legs]
    shorter = steps
    while (cut := _needless(problem, result, shorter)) is not None:
        shorter = [*shorter[: cut[0]], *shorter[cut[1] :]]
    if shorter is steps:
        return result
    walk = result_of(problem, shorter, list(result.gathered), bound_kg=result.bound_kg, method=result.method)
    return replace(walk, kg=result.kg, bound_kg=result.bound_kg, gap=result.gap, proved=result.proved)


def _needless(problem: WalkProblem, result: WalkResult, steps: list[Step]) -> tuple[int, int] | None:
    """First and one past the last step of the longest round that may be left out, in minutes; or None."""
    graph, gathered = problem.graph, [problem.prizes[p] for p in result.gathered]
    edges = {prize.edge for prize in gathered if prize.edge >= 0}
    nodes = {prize.node for prize in gathered if prize.node >= 0}
    passed = [problem.start, *(int((graph.end if forward else graph.start)[e]) for e, forward in steps)]
    minutes = [float((graph.forward_min if forward else graph.backward_min)[e]) for e, forward in steps]
    on_edge, at_node = Counter(e for e, _ in steps), Counter(passed)
    best, found = 1e-9, None
    for first in range(len(steps)):
        walked = 0.0
        edges_in: Counter[int] = Counter()
        nodes_in: Counter[int] = Counter()
        for last in range(first, len(steps)):
            edge, node = steps[last][0], passed[last + 1]
            walked += minutes[last]
            edges_in[edge] += 1
            nodes_in[node] += 1
            if (edge in edges and edges_in[edge] == on_edge[edge]) or (
                node in nodes and nodes_in[node] == at_node[node]
            ):
                break
            if node == passed[first] and walked > best:
                best, found = walked, (first, last + 1)
    return found
