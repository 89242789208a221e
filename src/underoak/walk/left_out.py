"""Why a spot with a name is not on the walk: what it would cost there and what may stand there."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from underoak.model.quantities import chance_words
from underoak.walk.closure import arcs_of, shortest_ways
from underoak.walk.result import LeftOut
from underoak.walk.shortest_enough import is_full

if TYPE_CHECKING:
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import WalkResult

#: More reasons than this help nobody.
MOST = 6


def left_out(problem: WalkProblem, result: WalkResult, spare_min: float | None = None) -> tuple[LeftOut, ...]:
    """A sentence for each named prize the walk leaves out, the weightiest first.

    ``spare_min`` is what the walk with its load has to spare; without it the load costs nothing. The minutes
    are the least that going there would add to this walk; other changes are not tried.
    """
    gathered = set(result.gathered)
    names = [p for p, prize in enumerate(problem.prizes) if prize.name and p not in gathered]
    names.sort(key=lambda p: (-problem.prizes[p].kg, p))
    if not names:
        return ()
    detours = _Detours(problem, result)
    spare_min = problem.minutes - result.minutes if spare_min is None else spare_min
    over = "what may be taken is full without it" if is_full(problem, result) else ""
    return tuple(_reason(problem, p, detours.minutes(p), over, max(spare_min, 0.0)) for p in names[:MOST])


class _Detours:
    """The least extra walking that going anywhere would add to a walk."""

    def __init__(self, problem: WalkProblem, result: WalkResult) -> None:
        graph = problem.graph
        self.problem = problem
        self.ways = shortest_ways(graph.nodes, arcs_of(graph)).minutes
        visited = [int((graph.end if leg.forward else graph.start)[leg.edge]) for leg in result.legs]
        self.here = np.array([problem.start, *visited])
        self.following = np.array([*visited, problem.finish])
        self.direct = np.array([leg.walk_min for leg in result.legs] + [0.0])

    def minutes(self, position: int) -> float:
        """Minutes for one prize, its own included; infinite where no trail leads there and back."""
        prize, graph = self.problem.prizes[position], self.problem.graph
        passages = [(prize.node, prize.node, 0.0)]
        if prize.edge >= 0:
            a, b = int(graph.start[prize.edge]), int(graph.end[prize.edge])
            there, back = float(graph.forward_min[prize.edge]), float(graph.backward_min[prize.edge])
            passages = [(a, b, there), (b, a, back)]
        extra = min(
            float(
                (self.ways[self.here, entry] + along + self.ways[leave, self.following] - self.direct).min()
            )
            for entry, leave, along in passages
        )
        return max(extra, 0.0) + prize.minutes


def _reason(problem: WalkProblem, position: int, minutes: float, over: str, spare_min: float) -> LeftOut:
    prize = problem.prizes[position]
    if not math.isfinite(minutes):
        return LeftOut(position, f"{prize.name}: no open trail leads there and back")
    chance = "" if math.isnan(prize.chance) else f", {chance_words(prize.chance)} chance"
    over = over or f"the walk has {spare_min:.0f} to spare"
    more = f"{minutes:.0f} minute{'' if round(minutes) == 1 else 's'} more"
    words = f"{prize.name}: {more}{chance}, {1000.0 * prize.kg:.0f} g expected; {over}"
    return LeftOut(position, words)
