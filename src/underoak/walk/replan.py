"""On the way: the best rest of a walk, and the way home from every point of it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from underoak.walk.closure import arcs_of, shortest_ways
from underoak.walk.problem import WalkProblem, no_way
from underoak.walk.result import Step, result_of
from underoak.walk.solve import Effort, solve

if TYPE_CHECKING:
    from underoak.walk.result import WalkResult

#: Enough for a good rest of a walk on a slow machine, without a proof.
ON_THE_WAY = Effort(rounds=400, seconds=1.4, prove=False)


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """Where the party stands: node, minutes left until it has to be back, and what it passed and picked.

    ``seen`` are prizes already looked at, with or without a find; ``picked_kg`` is what the bag holds
    from each place, in the order of the problem's places.
    """

    node: int
    minutes_left: float
    seen: frozenset[int] = frozenset()
    picked_kg: tuple[float, ...] = ()


def rest_problem(problem: WalkProblem, here: Whereabouts) -> WalkProblem:
    """The problem that is left: what was seen pays nothing more, what was picked counts against limits.

    Prizes keep their positions. Raises ValueError for a node that is not there.
    """
    if not 0 <= here.node < problem.graph.nodes:
        raise ValueError(f"there is no node {here.node}")
    picked = (*here.picked_kg, *(0.0 for _ in problem.place_limit_kg))[: len(problem.place_limit_kg)]
    left = tuple(max(limit - kg, 0.0) for limit, kg in zip(problem.place_limit_kg, picked, strict=True))
    bag = sum(picked)
    return replace(
        problem,
        start=here.node,
        minutes=here.minutes_left,
        prizes=tuple(replace(p, kg=0.0) if k in here.seen else p for k, p in enumerate(problem.prizes)),
        must_see=problem.must_see - here.seen,
        carry_kg=max(problem.carry_kg - bag, 0.0),
        kitchen_kg=max(problem.kitchen_kg - bag, 0.0),
        place_limit_kg=left,
    )


def replan(
    problem: WalkProblem, here: Whereabouts, *, seed: int = 0, clock: Callable[[], float] = lambda: 0.0
) -> WalkResult:
    """The best rest of the walk from where the party stands, in under two seconds with a clock.

    Raises NoAnswer when the finish can no longer be reached in time; then only `ways_home` helps.
    """
    return solve(rest_problem(problem, here), seed=seed, effort=ON_THE_WAY, clock=clock)


def straight_home(problem: WalkProblem) -> WalkResult:
    """The quickest way to the finish, nothing gathered, however late it comes.

    Raises NoAnswer when no open trail leads there.
    """
    graph = problem.graph
    ways = shortest_ways(graph.nodes, arcs_of(graph))
    if not math.isfinite(ways.minutes[problem.start, problem.finish]):
        raise no_way(problem, math.inf)
    nodes = ways.nodes_between(problem.start, problem.finish)
    steps = [_quickest(problem, a, b) for a, b in pairwise(nodes)]
    late = replace(problem, minutes=math.inf)
    return result_of(late, steps, [], bound_kg=math.inf, method="straight home")


def _quickest(problem: WalkProblem, tail: int, head: int) -> Step:
    arcs = arcs_of(problem.graph)
    between = [k for k in range(len(arcs.tail)) if arcs.tail[k] == tail and arcs.head[k] == head]
    edge = int(arcs.edge[min(between, key=lambda k: (arcs.minutes[k], k))])
    return edge, int(problem.graph.start[edge]) == tail


@dataclass(frozen=True, slots=True)
class WayHome:
    """From one node of a walk: the direct way to the finish, and when to be on it at the latest."""

    node: int
    minutes: float
    leave_by_min: float
    nodes: tuple[int, ...]


def ways_home(problem: WalkProblem, result: WalkResult) -> tuple[WayHome, ...]:
    """The fallback table for the pack: one line for each node the walk passes, in its order."""
    graph = problem.graph
    ways = shortest_ways(graph.nodes, arcs_of(graph))
    visited = [problem.start, *(int((graph.end if g.forward else graph.start)[g.edge]) for g in result.legs)]
    table = []
    for node in dict.fromkeys(visited):
        minutes = float(ways.minutes[node, problem.finish])
        line = tuple(ways.nodes_between(node, problem.finish))
        table.append(WayHome(node, minutes, problem.minutes - minutes, line))
    return tuple(table)
