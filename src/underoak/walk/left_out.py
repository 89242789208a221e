"""Why a spot with a name is not on the walk: what it would cost there and what may stand there."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from underoak.walk.closure import arcs_of, shortest_ways
from underoak.walk.result import LeftOut

if TYPE_CHECKING:
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import WalkResult

#: More reasons than this help nobody.
MOST = 8


def left_out(problem: WalkProblem, result: WalkResult) -> tuple[LeftOut, ...]:
    """A sentence for each named prize the walk leaves out, the weightiest first.

    The minutes are the least that going there would add to this walk; other changes are not tried.
    """
    names = [
        p for p, prize in enumerate(problem.prizes) if prize.name and p not in set(result.gathered)
    ]
    names.sort(key=lambda p: (-problem.prizes[p].kg, p))
    if not names:
        return ()
    graph = problem.graph
    ways = shortest_ways(graph.nodes, arcs_of(graph)).minutes
    visited = [problem.start]
    for leg in result.legs:
        visited.append(int((graph.end if leg.forward else graph.start)[leg.edge]))
    here = np.array(visited)
    following = np.append(here[1:], problem.finish)
    direct = np.array([leg.walk_min for leg in result.legs] + [0.0])
    return tuple(_reason(problem, result, p, ways, here, following, direct) for p in names[:MOST])


def _reason(
    problem: WalkProblem, result: WalkResult, position: int, ways: np.ndarray, here: np.ndarray,
    following: np.ndarray, direct: np.ndarray,
) -> LeftOut:  # fmt: skip
    prize, graph = problem.prizes[position], problem.graph
    ends = [(prize.node, prize.node, 0.0)]
    if prize.edge >= 0:
        a, b = int(graph.start[prize.edge]), int(graph.end[prize.edge])
        ends = [(a, b, float(graph.forward_min[prize.edge])), (b, a, float(graph.backward_min[prize.edge]))]
    extra = min(
        float((ways[here, entry] + along + ways[leave, following] - direct).min()) for entry, leave, along in ends
    )
    minutes = max(extra, 0.0) + prize.minutes
    if not math.isfinite(minutes):
        return LeftOut(position, f"{prize.name}: no open trail leads there and back")
    chance = "" if math.isnan(prize.chance) else f", {100.0 * prize.chance:.0f} % chance"
    left = problem.minutes - result.minutes
    over = f"; the walk has {max(left, 0.0):.0f} to spare" if minutes > left else "; the bag is full without it"
    words = f"{prize.name}: {minutes:.0f} minutes more{chance}, {1000.0 * prize.kg:.0f} g expected{over}"
    return LeftOut(position, words)
