"""Behind the plan: from every turn of a walk, what can be skipped and which way leads straight back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from underoak.walk.closure import Arcs, arcs_of, shortest_ways
from underoak.walk.steps import quickest_arcs, step_of_arc

if TYPE_CHECKING:
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import Step, WalkResult
    from underoak.walk.turns import Turn


@dataclass(frozen=True, slots=True)
class GoOn:
    """Leave out everything between this turn and turn ``to``, and go on from there as planned.

    ``minutes`` is all that is needed until the finish, ``kg`` what is still expected; ``steps`` is the way
    across. ``to`` one more than the last turn is the finish itself: straight back.
    """

    to: int
    minutes: float
    kg: float
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class WayHome:
    """The choices at the beginning of one turn, the one that brings most home first."""

    turn: int
    choices: tuple[GoOn, ...]


def ways_home(
    problem: WalkProblem, result: WalkResult, turns: Sequence[Turn], *, pace: float = 1.0
) -> tuple[WayHome, ...]:
    """For each turn, every way to cut the rest of the walk short, down to straight back.

    ``pace`` is the speed with the full basket, as a share of the speed that the problem's minutes hold for.

    Method: shortest ways between the nodes where turns begin; what lies between is left out with its
    walking and stopping minutes and its kilograms. A choice that needs no fewer minutes than another
    that brings as much is dropped. **Fails towards** an early return: stops already made are not
    counted as still to come, stops ahead are counted whole.
    """
    if not turns:
        return ()
    arcs = arcs_of(problem.graph)
    ways = shortest_ways(problem.graph.nodes, arcs)
    nodes = [*_begins(problem, result, turns), problem.finish]
    kg = [sum(problem.prizes[p].kg for p in turn.prizes) for turn in turns]
    minutes = [turn.walk_min + turn.stop_min for turn in turns]
    table = []
    for i, turn in enumerate(turns):
        found = [GoOn(turn.number, sum(minutes[i:]), sum(kg[i:]), ())]
        for j in range(i + 1, len(turns) + 1):
            across = float(ways.minutes[nodes[i], nodes[j]]) / pace if nodes[i] != nodes[j] else 0.0
            if np.isfinite(across):
                way = ways.nodes_between(nodes[i], nodes[j])
                steps = _steps(problem, arcs, way)
                found.append(GoOn(turns[0].number + j, across + sum(minutes[j:]), sum(kg[j:]), steps))
        table.append(WayHome(turn.number, _worth_it(found, turn.number)))
    return tuple(table)


def _begins(problem: WalkProblem, result: WalkResult, turns: Sequence[Turn]) -> list[int]:
    """Node at which each turn begins: that of the leg which begins at the same minute."""
    graph = problem.graph
    nodes, wanted = [], 0
    for leg in result.legs:
        if wanted < len(turns) and leg.begins_min >= turns[wanted].begins_min:
            nodes.append(int((graph.start if leg.forward else graph.end)[leg.edge]))
            wanted += 1
    return nodes


def _steps(problem: WalkProblem, arcs: Arcs, way: Sequence[int]) -> tuple[Step, ...]:
    quickest = quickest_arcs(arcs)
    return tuple(step_of_arc(problem, arcs, quickest[a, b]) for a, b in pairwise(way))


def _worth_it(found: Sequence[GoOn], planned: int) -> tuple[GoOn, ...]:
    """Choices sorted by kilograms, each needing less time than all that bring more.

    Of two that are alike the plan is kept, else the one that leads more directly to the finish.
    """
    kept: list[GoOn] = []
    for one in sorted(found, key=lambda g: (-round(g.kg, 6), round(g.minutes, 6), g.to != planned, -g.to)):
        if not kept or one.minutes < kept[-1].minutes - 1e-6:
            kept.append(one)
    return tuple(kept)
