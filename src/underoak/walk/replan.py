"""On the way: the best rest of a walk, and the way home from every point of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from underoak.errors import NoAnswer
from underoak.walk.closure import arcs_of, shortest_ways
from underoak.walk.growing_load import IN_TIME
from underoak.walk.problem import WalkProblem, no_way
from underoak.walk.result import Step, gap_of, result_of
from underoak.walk.solve import Effort, solve
from underoak.walk.steps import quickest_arcs, step_of_arc

if TYPE_CHECKING:
    from underoak.walk.result import Leg, WalkResult

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
    problem: WalkProblem,
    here: Whereabouts,
    *,
    planned: Sequence[Leg] = (),
    seed: int = 0,
    effort: Effort = ON_THE_WAY,
    clock: Callable[[], float] = lambda: 0.0,
) -> WalkResult:
    """The best rest of the walk from where the party stands, in under two seconds with a clock.

    ``planned`` are the legs still ahead of the walk planned before: no rest brings less than they do.

    Raises NoAnswer when the finish can no longer be reached in time; then only `ways_home` helps.
    """
    rest = rest_problem(problem, here)
    kept = rest_of_plan(rest, planned, lambda walk: walk.minutes <= rest.minutes + IN_TIME)
    try:
        found = solve(rest, seed=seed, effort=effort, clock=clock)
    except NoAnswer:
        if kept is None:
            raise
        return kept
    return better_rest(found, kept)


def rest_of_plan(
    problem: WalkProblem, planned: Sequence[Leg], in_time: Callable[[WalkResult], bool]
) -> WalkResult | None:
    """The most of an earlier plan's legs ahead that still comes in time, as a walk of this problem.

    ``problem`` is that of the rest, with the positions of edges and prizes that the plan had. None where
    no part of the plan comes in time, or leaves unseen what has to be seen.

    Method: the quickest way leads to the beginning of the first leg whose rest is in time; what lies before
    it is left out. From the way itself nothing is counted.
    """
    ways, late = Way(problem), replace(problem, minutes=math.inf)
    graph = problem.graph
    for first, leg in enumerate(planned):
        ahead = planned[first:]
        prizes = [
            p for one in ahead for p in one.prizes if problem.prizes[p].kg > 0.0 or p in problem.must_see
        ]
        across = ways.between(problem.start, int((graph.start if leg.forward else graph.end)[leg.edge]))
        if across is None or not problem.must_see <= set(prizes):
            continue
        steps = [*across, *((one.edge, one.forward) for one in ahead)]
        walk = result_of(late, steps, prizes, bound_kg=math.inf, method="as planned before")
        if in_time(walk):
            return walk
    return None


def better_rest(found: WalkResult, kept: WalkResult | None) -> WalkResult:
    """The one of two walks that brings more; where they bring alike, what was found.

    The bound of what was found is one of all walks, and holds for the other too.
    """
    if kept is None or kept.kg <= found.kg + 1e-6:
        return found
    gap = 1.0 if math.isinf(found.bound_kg) else gap_of(kept.kg, found.bound_kg)
    return replace(kept, bound_kg=found.bound_kg, gap=gap, proved=gap <= 1e-6)


def straight_home(problem: WalkProblem) -> WalkResult:
    """The quickest way to the finish, nothing gathered, however late it comes.

    Raises NoAnswer when no open trail leads there.
    """
    steps = Way(problem).between(problem.start, problem.finish)
    if steps is None:
        raise no_way(problem, math.inf)
    late = replace(problem, minutes=math.inf)
    return result_of(late, steps, [], bound_kg=math.inf, method="straight home")


class Way:
    """The quickest ways of one problem as steps."""

    def __init__(self, problem: WalkProblem) -> None:
        self._problem, self._arcs = problem, arcs_of(problem.graph)
        self._ways = shortest_ways(problem.graph.nodes, self._arcs)
        self._quickest = quickest_arcs(self._arcs)

    def between(self, here: int, there: int) -> list[Step] | None:
        """Steps of the quickest way, None where no open trail leads there."""
        if here != there and not math.isfinite(self._ways.minutes[here, there]):
            return None
        nodes = self._ways.nodes_between(here, there)
        return [step_of_arc(self._problem, self._arcs, self._quickest[a, b]) for a, b in pairwise(nodes)]


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
