"""Minutes that a walk has to spare are filled with what still fits beside its way."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from underoak.walk.closure import arcs_of, shortest_ways
from underoak.walk.replan import Way
from underoak.walk.result import gap_of, result_of
from underoak.walk.shortest_enough import is_full

if TYPE_CHECKING:
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import Step, WalkResult

#: Stops added at most.
MOST_ADDED = 30


def filled_up(problem: WalkProblem, result: WalkResult, in_time: Callable[[WalkResult], bool]) -> WalkResult:
    """The walk with every further stop that is worth anything and still comes in time.

    A walk that was searched for less time than there is, so that its load does not make it late, may have
    minutes left. ``in_time`` counts the load.

    Method: again and again the stop with most kilograms for its minutes, on a trail of the walk, there and
    back from a junction of it, or instead of a leg on whose trail nothing is gathered.
    """
    asides = _Asides(problem)
    for _ in range(MOST_ADDED):
        more = None if is_full(problem, result) else asides.best(result, in_time)
        if more is None:
            break
        result = more
    return result


class _Asides:
    """Ways aside from walks of one problem."""

    def __init__(self, problem: WalkProblem) -> None:
        self.problem, self.way = problem, Way(problem)
        self.minutes = shortest_ways(problem.graph.nodes, arcs_of(problem.graph)).minutes

    def best(self, result: WalkResult, in_time: Callable[[WalkResult], bool]) -> WalkResult | None:
        """The walk with one stop more, None where none comes in time."""
        prizes, gathered = self.problem.prizes, set(result.gathered)
        spare = self.problem.minutes - result.minutes
        found = []
        for position, prize in enumerate(prizes):
            if prize.kg > 0.0 and position not in gathered:
                minutes, steps = self._aside(result, position)
                if minutes <= spare:
                    found.append((-prize.kg / max(minutes, 1e-3), position, steps))
        for _, position, steps in sorted(found, key=lambda one: one[:2]):
            walk = self._with(result, position, steps())
            if in_time(walk):
                return walk
        return None

    def _aside(self, result: WalkResult, position: int) -> tuple[float, Callable[[], list[Step]]]:
        """The least minutes that one stop adds, and the steps of the walk with it."""
        graph, prize = self.problem.graph, self.problem.prizes[position]
        taken: list[Step] = [(leg.edge, leg.forward) for leg in result.legs]
        nodes = [self.problem.start]
        nodes += [int((graph.end if leg.forward else graph.start)[leg.edge]) for leg in result.legs]
        free = [all(self.problem.prizes[p].edge != leg.edge for p in leg.prizes) for leg in result.legs]
        # from each junction there and back, and instead of each leg that is free
        instead = [k for k, one in enumerate(free) if one]
        at = np.array([*range(len(nodes)), *instead])
        here = np.array(nodes)[at]
        there = np.array([*nodes, *(nodes[k + 1] for k in instead)])
        saved = np.array([0.0] * len(nodes) + [result.legs[k].walk_min for k in instead])
        if any(edge == prize.edge for edge, _ in taken):  # on the way anyhow
            return prize.minutes, lambda: taken
        least, best = math.inf, (0, 0, 0, -1)
        for entry, leave, along, turn in self._passages(position):
            minutes = self.minutes[here, entry] + along + self.minutes[leave, there] - saved
            k = int(np.argmin(minutes))
            if minutes[k] < least:
                least, best = float(minutes[k]), (k, entry, leave, turn)

        def steps() -> list[Step]:
            k, entry, leave, turn = best
            first, after = int(at[k]), int(at[k]) + (k >= len(nodes))
            middle: list[Step] = [] if turn < 0 else [(prize.edge, bool(turn))]
            to, back = self.way.between(int(here[k]), entry), self.way.between(leave, int(there[k]))
            return [*taken[:first], *(to or []), *middle, *(back or []), *taken[after:]]

        return max(least, 0.0) + prize.minutes, steps

    def _passages(self, position: int) -> list[tuple[int, int, float, int]]:
        """Entry, exit, minutes along and direction (-1: a node) of each way to gather a prize."""
        graph, prize = self.problem.graph, self.problem.prizes[position]
        if prize.node >= 0:
            return [(prize.node, prize.node, 0.0, -1)]
        a, b = int(graph.start[prize.edge]), int(graph.end[prize.edge])
        there, back = float(graph.forward_min[prize.edge]), float(graph.backward_min[prize.edge])
        return [(a, b, there, 1), (b, a, back, 0)]

    def _with(self, result: WalkResult, position: int, steps: list[Step]) -> WalkResult:
        late = replace(self.problem, minutes=math.inf)
        bound_kg = result.bound_kg
        walk = result_of(late, steps, [*result.gathered, position], bound_kg=bound_kg, method=result.method)
        gap = 1.0 if math.isinf(bound_kg) else gap_of(walk.kg, bound_kg)
        return replace(walk, gap=gap, proved=gap <= 1e-6)
