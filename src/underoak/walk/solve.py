"""Plan a walk: a good one at once, then the best one with its proof, as far as the time allows."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from underoak.walk.bound import is_closed, narrow, plain_bound, tighten
from underoak.walk.formulation import Formulation, Ground, formulate, ground_of, mode_arcs
from underoak.walk.local_search import Search
from underoak.walk.problem import WalkProblem, check_problem, no_way, usable_kg
from underoak.walk.programme import Programme
from underoak.walk.result import Step, WalkResult, legs_of, result_of
from underoak.walk.steps import steps_of_counts, steps_of_sequence
from underoak.walk.tour import lay_out

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]

#: Formulations with more arcs than this are searched, not proved.
MOST_ARCS = 12_000


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard to try. The same rounds and seed give the same walk; seconds only ever cut short.

    ``rounds`` of local search; ``seconds`` for everything; ``prove`` asks for the bound.
    """

    rounds: int = 1500
    seconds: float = math.inf
    prove: bool = True
    #: Share of the seconds that the local search may take.
    search_share: float = 0.15


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search has come: the best walk and the least bound so far."""

    kg: float
    bound_kg: float
    stage: str


@dataclass(slots=True)
class _Found:
    """The best walk so far."""

    steps: list[Step]
    prizes: list[int]
    kg: float


def solve(
    problem: WalkProblem, *, seed: int = 0, effort: Effort | None = None,
    clock: Callable[[], float] = lambda: 0.0, tell: Callable[[Progress], None] = lambda progress: None,
) -> WalkResult:  # fmt: skip
    """The walk that brings most home, with an upper bound on every other.

    Parameters
    ----------
    problem   what is asked
    seed      makes the search reproducible
    effort    rounds and seconds; without ``seconds`` the same call gives the same walk anywhere
    clock     seconds that pass, for the limit; the default never runs out
    tell      is told of progress

    Returns
    -------
    The result; ``proved`` when no walk can bring more. A same walk never exceeds ``problem.minutes``.

    Raises
    ------
    NoAnswer     when the finish cannot be reached in time
    ValueError   when the problem contradicts itself

    Method
    ------
    Ruin-and-recreate search on the closure of shortest ways; then a linear relaxation of a
    time-flow formulation tightened by connectivity cuts, reduced-cost fixing against the walk found,
    and branch and bound in HiGHS started from it.
    """
    effort = effort or Effort()
    began = clock()
    check_problem(problem)
    ground = ground_of(problem)
    shortest = float(ground.ways.minutes[problem.start, problem.finish])
    if shortest > problem.minutes:
        raise no_way(problem, shortest)
    found = _search(problem, ground, seed, effort, clock, began)
    ceiling = plain_bound(ground)
    tell(Progress(found.kg, ceiling, "search"))
    method = "local search"
    if effort.prove and not is_closed(ceiling, found.kg) and len(ground.arcs.tail) <= MOST_ARCS:
        ceiling = _prove(ground, found, seed, effort.seconds, lambda: clock() - began, tell)
        method = "branch and cut"
    return result_of(problem, found.steps, found.prizes, bound_kg=ceiling, method=method)


def _search(
    problem: WalkProblem, ground: Ground, seed: int, effort: Effort, clock: Callable[[], float], began: float
) -> _Found:
    lay = lay_out(ground.modes, ground.ways, problem.start, problem.finish, problem.minutes)
    search = Search(problem, lay, seed)
    share = effort.seconds * (effort.search_share if effort.prove else 1.0)
    tour = search.run(effort.rounds if len(ground.modes.prize) else 0, lambda: clock() - began > share)
    arcs = ground.arcs
    steps = steps_of_sequence(problem, lay, arcs, tour.sequence)
    prizes = [int(p) for p in ground.modes.prize[tour.sequence]]
    return _Found(steps, prizes, usable_kg(problem, prizes))


def _prove(
    ground: Ground, found: _Found, seed: int, seconds: float, spent: Callable[[], float],
    tell: Callable[[Progress], None],
) -> float:  # fmt: skip
    """Tighten the bound and improve the walk in place; the bound."""
    formulation = formulate(ground)
    relaxed = tighten(
        formulation, found.kg, seed=seed, stop=lambda: spent() > 0.6 * seconds,
        watch=lambda bound: tell(Progress(found.kg, bound, "bound")),
    )  # fmt: skip
    if is_closed(relaxed.bound_kg, found.kg) or spent() >= seconds:
        return relaxed.bound_kg
    narrowed = narrow(formulation, relaxed, found.kg)
    programme = Programme(narrowed, seed=seed, relaxed=False)
    programme.add_rows(list(relaxed.cuts))
    answer = programme.solve(seconds=min(seconds - spent(), 1e7), start=columns_of(formulation, found))
    if answer.values is not None:
        _take(ground, formulation, answer.values, found)
    tell(Progress(found.kg, answer.bound_kg, "proof"))
    return max(found.kg, min(relaxed.bound_kg, answer.bound_kg))


def _take(ground: Ground, formulation: Formulation, values: FloatArray, found: _Found) -> None:
    """Take over the solver's walk when it brings more and holds up."""
    a, modes = formulation.arcs, ground.modes
    counts = {int(k): round(float(values[k])) for k in np.flatnonzero(values[:a] > 0.5)}
    steps = steps_of_counts(ground.problem, ground.arcs, counts)
    walked = {edge for edge, _ in steps}
    nodes = {ground.problem.start}
    graph = ground.problem.graph
    nodes |= {int((graph.end if forward else graph.start)[edge]) for edge, forward in steps}
    chosen = {int(p) for p in modes.prize[values[a : a + formulation.modes] > 0.5]}
    on_the_way = [
        p for p in sorted(chosen)
        if ground.problem.prizes[p].edge in walked or ground.problem.prizes[p].node in nodes
    ]  # fmt: skip
    kg = usable_kg(ground.problem, on_the_way)
    if kg <= found.kg:
        return
    minutes = legs_of(ground.problem, steps, on_the_way)[2]
    if minutes <= ground.problem.minutes + 1e-5:
        found.steps, found.prizes, found.kg = steps, on_the_way, kg


def columns_of(formulation: Formulation, found: _Found) -> FloatArray | None:
    """The walk as columns of the formulation, or None when it uses an arc that was pruned away."""
    ground = formulation.ground
    problem, arcs, modes = ground.problem, ground.arcs, ground.modes
    a, m = formulation.arcs, formulation.modes
    values = np.zeros(len(formulation.cost))
    where = {(int(e), int(t)): k for k, (e, t) in enumerate(zip(arcs.edge, arcs.tail, strict=True))}
    mode_at = {(int(p), int(k)): n for n, (p, k) in enumerate(zip(modes.prize, mode_arcs(ground), strict=True))}
    legs, at_start, _ = legs_of(problem, found.steps, found.prizes)
    for prize in at_start:
        values[a + mode_at[prize, -1]] = 1.0
    for leg in legs:
        tail = problem.graph.start if leg.forward else problem.graph.end
        arc = where.get((leg.edge, int(tail[leg.edge])))
        if arc is None:
            return None
        values[arc] += 1.0
        stops = {p: problem.prizes[p] for p in leg.prizes}
        on_edge = sum(prize.minutes for prize in stops.values() if prize.edge >= 0)
        values[a + m + arc] += leg.begins_min + leg.walk_min + on_edge
        for p, prize in stops.items():
            values[a + mode_at[p, arc if prize.edge >= 0 else -1]] = 1.0
    for place, limit in enumerate(problem.place_limit_kg):
        kg = sum(problem.prizes[p].kg for p in found.prizes if problem.prizes[p].place == place)
        values[2 * a + m + place] = min(kg, limit)
    return values
