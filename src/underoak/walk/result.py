"""The answer: every stretch in order with its minutes, what is gathered, and how good it is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

from underoak.walk.problem import WalkProblem, usable_kg

#: A step of a walk: position of the edge, and whether it is walked from its start to its end.
Step = tuple[int, bool]


@dataclass(frozen=True, slots=True)
class Leg:
    """One edge walked once. ``begins_min`` counts from leaving the start.

    ``walk_min`` is walking alone, ``stop_min`` searching and picking on it or at its far node;
    ``prizes`` are the positions of what is gathered.
    """

    edge: int
    forward: bool
    begins_min: float
    walk_min: float
    stop_min: float = 0.0
    prizes: tuple[int, ...] = ()

    def begins_at(self, start: datetime) -> datetime:
        """Clock time at which the leg begins when the walk leaves at ``start``."""
        return start + timedelta(minutes=self.begins_min)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A prize people would ask about that the walk does not visit, and why."""

    prize: int
    words: str


@dataclass(frozen=True, slots=True)
class WalkResult:
    """A walk from start to finish within every limit.

    ``kg`` is what bag, kitchen and place limits let through of what is expected; no walk can bring
    home more than ``bound_kg``; ``gap`` is the share of the bound that may still be missing;
    ``proved`` is true when the two are equal. ``at_start`` are prizes gathered before the first leg.
    """

    legs: tuple[Leg, ...]
    minutes: float
    kg: float
    bound_kg: float
    gap: float
    proved: bool
    gathered: tuple[int, ...]
    at_start: tuple[int, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    method: str = ""


def gap_of(kg: float, bound_kg: float) -> float:
    """Share of the bound that the walk may lack, 0 to 1."""
    return 0.0 if bound_kg <= 0.0 else max(0.0, (bound_kg - kg) / bound_kg)


def legs_of(
    problem: WalkProblem, steps: list[Step], prizes: list[int]
) -> tuple[tuple[Leg, ...], tuple[int, ...], float]:
    """Legs of the steps, each prize gathered at the first chance; prizes at the start; all minutes.

    Raises ValueError when the steps do not hang together or a prize is not on the way.
    """
    graph, here, clock = problem.graph, problem.start, 0.0
    on_edge: dict[int, list[int]] = {}
    at_node: dict[int, list[int]] = {}
    for position in prizes:
        prize = problem.prizes[position]
        (on_edge if prize.edge >= 0 else at_node).setdefault(max(prize.edge, prize.node), []).append(position)
    at_start = tuple(at_node.pop(here, ()))
    clock += sum(problem.prizes[p].minutes for p in at_start)
    legs = []
    for edge, forward in steps:
        tail, head = (graph.start, graph.end) if forward else (graph.end, graph.start)
        if int(tail[edge]) != here:
            raise ValueError("the steps of a walk do not hang together")
        here = int(head[edge])
        taken = (*on_edge.pop(edge, ()), *at_node.pop(here, ()))
        walk_min = float((graph.forward_min if forward else graph.backward_min)[edge])
        stop_min = sum(problem.prizes[p].minutes for p in taken)
        legs.append(Leg(edge, forward, clock, walk_min, stop_min, taken))
        clock += walk_min + stop_min
    if on_edge or at_node or here != problem.finish:
        raise ValueError("a prize is not on the way, or the walk does not end at its finish")
    return tuple(legs), at_start, clock


def result_of(
    problem: WalkProblem, steps: list[Step], prizes: list[int], *, bound_kg: float, method: str
) -> WalkResult:
    """The result of a walk, counted afresh from its steps; ValueError when it breaks a limit of time."""
    legs, at_start, minutes = legs_of(problem, steps, prizes)
    if minutes > problem.minutes + 1e-5:
        raise ValueError(f"the walk takes {minutes:.4f} of {problem.minutes:.4f} minutes")
    kg = usable_kg(problem, prizes)
    bound_kg = max(bound_kg, kg) if math.isfinite(bound_kg) else math.inf
    gap = 1.0 if math.isinf(bound_kg) else gap_of(kg, bound_kg)
    gathered = tuple(sorted(prizes))
    return WalkResult(legs, minutes, kg, bound_kg, gap, gap <= 1e-6, gathered, at_start, (), method)
