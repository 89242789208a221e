"""Plan a walk: a good one at once, then the best one with its proof, as far as the time allows."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from underoak.errors import NoAnswer
from underoak.walk.bound import Tightening, is_closed, narrow, plain_bound
from underoak.walk.formulation import Formulation, Ground, formulate, ground_of
from underoak.walk.point_search import search_of
from underoak.walk.problem import WalkProblem, check_problem, no_way, usable_kg
from underoak.walk.programme import Programme
from underoak.walk.result import WalkResult, result_of
from underoak.walk.steps import steps_of_sequence
from underoak.walk.straighten import straightened
from underoak.walk.tour import lay_out
from underoak.walk.translate import Found, columns_of, found_in

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]

#: Formulations with more arcs than this are searched, not proved.
MOST_ARCS = 12_000
#: A plan of fewer seconds than this searches for `SHORT_SEARCH_UNTIL` of them before it proves anything.
SHORT_PLAN_S, SHORT_SEARCH_UNTIL = 10.0, 0.6
#: Rounds before the first walk is told of.
FIRST_ROUNDS = 2
#: Shares of the time: the first search, the stages of the relaxation, the search each of them leads.
SEARCH_UNTIL = 0.08
TIGHTEN_UNTIL = (0.2, 0.4, 0.6, 0.75)
LEAD_SHARE = 0.05
#: Branching is not begun with less time left than this [s].
LEAST_BRANCH_S = 8.0


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard to try. The same rounds and seed give the same walk; seconds only ever cut short.

    ``rounds`` of each stage of local search; ``seconds`` for everything; ``prove`` asks for the bound, by
    at most ``nodes`` of branch and bound; a walk that brings ``enough_kg`` ends the search.
    """

    rounds: int = 200
    seconds: float = math.inf
    prove: bool = True
    nodes: int | None = None
    enough_kg: float = math.inf


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search has come: the best walk and the least bound so far."""

    kg: float
    bound_kg: float
    stage: str


def nobody_listens(_: Progress) -> None:
    """Hear of progress and do nothing."""


def solve(
    problem: WalkProblem,
    *,
    seed: int = 0,
    effort: Effort | None = None,
    clock: Callable[[], float] = lambda: 0.0,
    tell: Callable[[Progress], None] = nobody_listens,
) -> WalkResult:
    """The walk that brings most home, with an upper bound on every other.

    Parameters
    ----------
    problem : what is asked
    seed : makes the search reproducible
    effort : rounds and seconds; without ``seconds`` the same call gives the same walk anywhere
    clock : seconds that pass, for the limit; the default never runs out
    tell : is told of progress

    Returns
    -------
    The result; ``proved`` when no walk can bring more. A walk never exceeds ``problem.minutes``.

    Raises
    ------
    NoAnswer     when the finish or something that must be seen cannot be reached in time
    ValueError   when the problem contradicts itself

    Method
    ------
    Sweeps of the watch, then ruin-and-recreate search on the closure of shortest ways, or annealing where
    prizes lie at points; a linear relaxation of a time-flow formulation tightened by connectivity cuts,
    whose point leads a second search; reduced-cost fixing against the best walk, and branch and bound in
    HiGHS started from it; rounds that the walk does not need are left out at last.
    """
    check_problem(problem)
    began = clock()
    ground = ground_of(problem)
    shortest = float(ground.ways.minutes[problem.start, problem.finish])
    if shortest > problem.minutes:
        raise no_way(problem, shortest)
    run = _Run(ground, seed, effort or Effort(), lambda: clock() - began, tell)
    run.search(SEARCH_UNTIL, rounds=FIRST_ROUNDS)
    provable = run.effort.prove and len(ground.arcs.tail) <= MOST_ARCS
    run.search(SEARCH_UNTIL if provable else 1.0)
    if provable and run.effort.seconds < SHORT_PLAN_S and not run.closed():
        run.search(SHORT_SEARCH_UNTIL)
    if provable and not run.closed():
        run.prove()
    if run.found is None:
        raise NoAnswer(
            "no walk in this time visits everything that must be seen",
            remedy="allow more time, or ask for less",
        )
    found = run.found
    walk = result_of(problem, found.steps, found.prizes, bound_kg=run.bound_kg, method=run.method)
    return straightened(problem, walk)


class _Run:
    """One search with the best walk (None before any) and the least bound so far."""

    def __init__(
        self,
        ground: Ground,
        seed: int,
        effort: Effort,
        spent: Callable[[], float],
        tell: Callable[[Progress], None],
    ) -> None:
        self.ground, self.problem = ground, ground.problem
        self.seed, self.effort, self.spent, self.tell = seed, effort, spent, tell
        self.found: Found | None = None
        self.bound_kg = plain_bound(ground)
        self.method = "local search"
        problem = self.problem
        self.lay = lay_out(ground.modes, ground.ways, problem.start, problem.finish, problem.minutes)
        self.local = search_of(problem, self.lay, ground.arcs, seed)

    @property
    def kg(self) -> float:
        """Kilograms of the best walk, -1 before any."""
        return -1.0 if self.found is None else self.found.kg

    def say(self, stage: str) -> None:
        """Tell how far the search has come."""
        self.tell(Progress(max(self.kg, 0.0), self.bound_kg, stage))

    def enough(self) -> bool:
        """Whether the local search can stop."""
        kg = self.local.best.kg
        return kg >= self.effort.enough_kg - 1e-9 or is_closed(self.bound_kg, kg)

    def late(self, share: float) -> bool:
        """Whether this share of the time has gone."""
        return self.spent() > share * self.effort.seconds

    def search(self, until: float, stage: str = "search", *, rounds: int | None = None) -> None:
        """Local search, up to a share of the time and ``rounds`` (those of the effort if None)."""
        modes = self.ground.modes
        most = self.effort.rounds if rounds is None else min(rounds, self.effort.rounds)
        tour = self.local.run(
            most if len(modes.prize) else 0,
            lambda: self.late(until) or self.enough(),
        )
        prizes = [int(p) for p in modes.prize[tour.sequence]]
        kg = usable_kg(self.problem, prizes)
        if self.problem.must_see <= set(prizes) and kg > self.kg:
            steps = steps_of_sequence(self.problem, self.lay, self.ground.arcs, tour.sequence)
            self.found = Found(steps, prizes, kg)
        self.say(stage)

    def prove(self) -> None:
        """Tighten the bound and let it lead the search, then branch and bound, until they meet."""
        self.method = "branch and cut"
        formulation = formulate(self.ground)
        tightening = Tightening(formulation, seed=self.seed)
        for until in TIGHTEN_UNTIL:
            relaxed = tightening.advance(self.kg, stop=lambda until=until: self.late(until))  # type: ignore[misc]
            self.lower(relaxed.bound_kg)
            if self.closed():
                return
            if relaxed.values is not None:
                self.local.lean_on(_share_taken(formulation, relaxed.values))
                self.search(until + LEAD_SHARE, "led search")
            if tightening.finished:
                break
        left = self.effort.seconds - self.spent()
        if left < LEAST_BRANCH_S and math.isfinite(left):
            self.search(1.0, "led search")
        elif not self.closed():
            self.branch(formulation, tightening)

    def branch(self, formulation: Formulation, tightening: Tightening) -> None:
        """Branch and bound on what the relaxation leaves."""
        narrowed = narrow(formulation, tightening.best, self.kg)
        programme = Programme(narrowed, seed=self.seed, relaxed=False)
        programme.add_rows(tightening.binding())
        start = None if self.found is None else columns_of(formulation, self.found)
        left = min(self.effort.seconds - self.spent(), 1e7)
        answer = programme.solve(
            seconds=left, nodes=self.effort.nodes, start=start, stop=lambda: self.late(1.0)
        )
        better = None if answer.values is None else found_in(formulation, answer.values)
        if better is not None and better.kg > self.kg:
            self.found = better
        self.lower(max(self.kg, answer.bound_kg))

    def lower(self, bound_kg: float) -> None:
        """Take over a bound that is lower than the one known."""
        self.bound_kg = min(self.bound_kg, bound_kg)
        self.say("bound")

    def closed(self) -> bool:
        """Whether walk and bound meet."""
        return self.found is not None and is_closed(self.bound_kg, self.found.kg)


def _share_taken(formulation: Formulation, values: FloatArray) -> FloatArray:
    """What the relaxation takes of each prize, for each of its modes, 0 to 1."""
    a, modes = formulation.arcs, formulation.ground.modes
    taken = np.bincount(modes.prize, weights=values[a : a + formulation.modes])
    return np.asarray(np.clip(taken[modes.prize], 0.0, 1.0))
