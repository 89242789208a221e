"""What is asked of a walk: a graph with minutes, prizes that pay once, and every limit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from underoak.errors import NoAnswer

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]
    IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class WalkGraph:
    """Where one can walk: ``nodes`` junctions and edges with minutes in each direction.

    ``start`` and ``end`` (edges,) are node positions; ``forward_min`` is the time from start to
    end, ``backward_min`` the way back, infinite where that direction is closed.
    """

    nodes: int
    start: IntArray
    end: IntArray
    forward_min: FloatArray
    backward_min: FloatArray


@dataclass(frozen=True, slots=True)
class Prize:
    """Something that can be gathered once: along an edge, or at a node.

    Exactly one of ``edge`` and ``node`` is a position, the other is -1. ``kg`` is what is expected
    there, ``minutes`` what searching, picking, cleaning and any detour from the trail cost.
    ``place`` is a position in `WalkProblem.place_limit_kg`. ``chance`` is that of at least one
    prime find there, as far as known. ``key`` says what it is, the same from day to day.
    """

    kg: float
    minutes: float
    edge: int = -1
    node: int = -1
    place: int = 0
    name: str = ""
    chance: float = math.nan
    key: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class WalkProblem:
    """One walk to plan. All kilograms are fresh weight, all times minutes.

    ``minutes`` is the time there is between start and finish; ``carry_kg`` what the party can
    carry home, ``kitchen_kg`` what the kitchen takes tonight, ``place_limit_kg`` what the party may
    take from each place. ``must_see`` names prizes the walk has to visit. Closed ground is an edge
    with infinite minutes; ``start_min`` walks from where the party stands to node ``start``.
    """

    graph: WalkGraph
    prizes: tuple[Prize, ...]
    start: int
    finish: int
    minutes: float
    carry_kg: float = math.inf
    kitchen_kg: float = math.inf
    place_limit_kg: tuple[float, ...] = field(default=(math.inf,))
    must_see: frozenset[int] = frozenset()

    @property
    def bag_kg(self) -> float:
        """Most that can be brought home, whatever grows."""
        return min(self.carry_kg, self.kitchen_kg)


def usable_kg(problem: WalkProblem, chosen: list[int]) -> float:
    """Kilograms of the chosen prizes that bag, kitchen and place limits let through."""
    by_place = [0.0] * len(problem.place_limit_kg)
    for position in chosen:
        prize = problem.prizes[position]
        by_place[prize.place] += prize.kg
    allowed = sum(min(kg, limit) for kg, limit in zip(by_place, problem.place_limit_kg, strict=True))
    return min(allowed, problem.bag_kg)


def with_kg(problem: WalkProblem, kg: Sequence[float]) -> WalkProblem:
    """The problem with other kilograms, one for each prize."""
    prizes = tuple(replace(prize, kg=one) for prize, one in zip(problem.prizes, kg, strict=True))
    return replace(problem, prizes=prizes)


def check_problem(problem: WalkProblem) -> None:
    """Raise ValueError when the problem contradicts itself; a fault of the caller, not of a person."""
    graph, edges = problem.graph, len(problem.graph.start)
    shapes = {len(a) for a in (graph.start, graph.end, graph.forward_min, graph.backward_min)}
    if shapes != {edges}:
        raise ValueError("edge arrays differ in length")
    if edges and not (
        0 <= min(graph.start.min(), graph.end.min()) <= max(graph.start.max(), graph.end.max()) < graph.nodes
    ):
        raise ValueError("an edge names a node that is not there")
    if edges and (np.isnan(graph.forward_min).any() or np.isnan(graph.backward_min).any()):
        raise ValueError("minutes of an edge are not known")
    if edges and min(graph.forward_min.min(), graph.backward_min.min()) < 0.0:
        raise ValueError("minutes of an edge are negative")
    if not (0 <= problem.start < graph.nodes and 0 <= problem.finish < graph.nodes):
        raise ValueError("start or finish is not a node")
    for prize in problem.prizes:
        if (prize.edge >= 0) == (prize.node >= 0) or prize.edge >= edges or prize.node >= graph.nodes:
            raise ValueError("a prize lies on exactly one edge or node of the graph")
        if not (prize.kg >= 0.0 and prize.minutes >= 0.0 and math.isfinite(prize.kg + prize.minutes)):
            raise ValueError("a prize has weight and minutes of 0 or more")


def no_way(problem: WalkProblem, shortest_min: float) -> NoAnswer:
    """The error for a finish that cannot be reached in time, saying by how much."""
    if not math.isfinite(shortest_min):
        return NoAnswer(
            "no open trail leads from the start to the finish",
            remedy="check closed and one-way trails, or choose another car park",
        )
    return NoAnswer(
        f"the shortest way takes {shortest_min:.0f} minutes and there are {problem.minutes:.0f}",
        remedy="start earlier, allow more time or choose a nearer finish",
    )
