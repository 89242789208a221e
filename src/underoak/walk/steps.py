"""From an order of prizes, or from counts of arcs, to the steps of one connected walk."""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from underoak.walk.closure import Arcs

if TYPE_CHECKING:
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import Step
    from underoak.walk.tour import Lay


def step_of_arc(problem: WalkProblem, arcs: Arcs, arc: int) -> Step:
    """The edge of an arc and its direction."""
    edge = int(arcs.edge[arc])
    return edge, int(problem.graph.start[edge]) == int(arcs.tail[arc])


def quickest_arcs(arcs: Arcs) -> dict[tuple[int, int], int]:
    """The quickest arc between every pair of neighbouring nodes."""
    order = np.lexsort((arcs.minutes, arcs.head, arcs.tail))
    tail, head = arcs.tail[order], arcs.head[order]
    first = np.ones(len(order), dtype=bool)
    first[1:] = (tail[1:] != tail[:-1]) | (head[1:] != head[:-1])
    pairs = zip(tail[first].tolist(), head[first].tolist(), strict=True)
    return dict(zip(pairs, order[first].tolist(), strict=True))


def steps_of_sequence(problem: WalkProblem, lay: Lay, arcs: Arcs, sequence: list[int]) -> list[Step]:
    """Steps of a tour: shortest ways from prize to prize, and through each prize's own edge.

    What is gathered on one edge in one direction, one right after the other, is walked along once.
    """
    modes = lay.modes
    walked = [mode for k, mode in enumerate(sequence) if k == 0 or not _at_once(lay, sequence[k - 1], mode)]
    ways = [
        lay.ways.nodes_between(lay.leaves(walked[:k]), lay.enters(walked[k:])) for k in range(len(walked) + 1)
    ]
    arcs = _along(arcs, ways)
    quickest = quickest_arcs(arcs)
    steps: list[Step] = []
    for mode, way in zip([*walked, -1], ways, strict=True):
        steps += [step_of_arc(problem, arcs, quickest[a, b]) for a, b in pairwise(way)]
        if mode >= 0 and modes.edge[mode] >= 0:
            edge = int(modes.edge[mode])
            steps.append((edge, int(problem.graph.start[edge]) == way[-1]))
    return steps


def _at_once(lay: Lay, last: int, mode: int) -> bool:
    """Whether both are gathered on one walk along their edge."""
    modes = lay.modes
    return bool(modes.edge[last] == modes.edge[mode] >= 0 and modes.entry[last] == modes.entry[mode])


def _along(arcs: Arcs, ways: list[list[int]]) -> Arcs:
    """The arcs from each node of the ways to the next: of a million arcs between points only these matter."""
    nodes = 1 + max(int(arcs.tail.max(initial=0)), int(arcs.head.max(initial=0)))
    wanted = [a * nodes + b for way in ways for a, b in pairwise(way)]
    keep = np.isin(arcs.tail * nodes + arcs.head, np.array(wanted, dtype=np.int64))
    return Arcs(arcs.tail[keep], arcs.head[keep], arcs.minutes[keep], arcs.edge[keep])


def steps_of_counts(problem: WalkProblem, arcs: Arcs, counts: dict[int, int]) -> list[Step]:
    """One walk from start to finish over arcs used ``counts`` times (Hierholzer's algorithm).

    Arcs that do not hang together with the start are left out.
    """
    leaving: dict[int, list[int]] = defaultdict(list)
    for arc, count in sorted(counts.items(), reverse=True):
        leaving[int(arcs.tail[arc])] += [arc] * count
    stack: list[tuple[int, int]] = [(problem.start, -1)]
    walked: list[int] = []
    while stack:
        node, arc = stack[-1]
        if leaving[node]:
            following = leaving[node].pop()
            stack.append((int(arcs.head[following]), following))
        else:
            stack.pop()
            if arc >= 0:
                walked.append(arc)
    return [step_of_arc(problem, arcs, arc) for arc in reversed(walked)]
