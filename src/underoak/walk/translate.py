"""Between a walk in steps and the columns of its formulation, both ways."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from underoak.walk.formulation import mode_arcs
from underoak.walk.problem import usable_kg
from underoak.walk.result import Step, legs_of
from underoak.walk.steps import steps_of_counts

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.walk.formulation import Formulation

    FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Found:
    """A walk: its steps, the prizes gathered on it and its usable kilograms."""

    steps: list[Step]
    prizes: list[int]
    kg: float


def found_in(formulation: Formulation, values: FloatArray) -> Found | None:
    """The walk that whole-number columns describe, or None when it does not hold up."""
    problem, modes, a = formulation.ground.problem, formulation.ground.modes, formulation.arcs
    counts = {int(k): round(float(values[k])) for k in np.flatnonzero(values[:a] > 0.5)}
    steps = steps_of_counts(problem, formulation.ground.arcs, counts)
    graph = problem.graph
    walked = {edge for edge, _ in steps}
    nodes = {problem.start} | {int((graph.end if forward else graph.start)[edge]) for edge, forward in steps}
    chosen = {int(p) for p in modes.prize[values[a : a + formulation.modes] > 0.5]}
    prizes = [
        p for p in sorted(chosen) if problem.prizes[p].edge in walked or problem.prizes[p].node in nodes
    ]
    if not problem.must_see <= set(prizes):
        return None
    try:
        minutes = legs_of(problem, steps, prizes)[2]
    except ValueError:
        return None
    return Found(steps, prizes, usable_kg(problem, prizes)) if minutes <= problem.minutes + 1e-5 else None


def columns_of(formulation: Formulation, found: Found) -> FloatArray | None:
    """The columns of a walk, or None when it uses an arc that was pruned away."""
    ground = formulation.ground
    problem, arcs, modes = ground.problem, ground.arcs, ground.modes
    a, m = formulation.arcs, formulation.modes
    values = np.zeros(len(formulation.cost))
    where = {(int(e), int(t)): k for k, (e, t) in enumerate(zip(arcs.edge, arcs.tail, strict=True))}
    mode_at = {
        (int(p), int(k)): n for n, (p, k) in enumerate(zip(modes.prize, mode_arcs(ground), strict=True))
    }
    legs, at_start, _ = legs_of(problem, found.steps, found.prizes)
    for prize in at_start:
        values[a + mode_at[prize, -1]] = 1.0
    for leg in legs:
        tail = problem.graph.start if leg.forward else problem.graph.end
        arc = where.get((leg.edge, int(tail[leg.edge])))
        if arc is None:
            return None
        stops = [problem.prizes[p] for p in leg.prizes]
        on_edge = sum(stop.minutes for stop in stops if stop.edge >= 0)
        values[arc] += 1.0
        values[a + m + arc] += leg.begins_min + leg.walk_min + on_edge
        for p, stop in zip(leg.prizes, stops, strict=True):
            values[a + mode_at[p, arc if stop.edge >= 0 else -1]] = 1.0
    for place, limit in enumerate(problem.place_limit_kg):
        kg = sum(problem.prizes[p].kg for p in found.prizes if problem.prizes[p].place == place)
        values[2 * a + m + place] = min(kg, limit)
    return values
