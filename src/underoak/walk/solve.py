"""Plan a walk: a good one at once, then the best one with its proof, as far as the time allows."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from underoak.errors import NoAnswer
from underoak.walk.bound import is_closed, narrow, plain_bound, tighten
from underoak.walk.formulation import Ground, formulate, ground_of
from underoak.walk.local_search import Search
from underoak.walk.problem import WalkProblem, check_problem, no_way, usable_kg
from underoak.walk.programme import Programme
from underoak.walk.result import WalkResult, result_of
from underoak.walk.steps import steps_of_sequence
from underoak.walk.tour import lay_out
from underoak.walk.translate import Found, columns_of, found_in

#: Formulations with more arcs than this are searched, not proved.
MOST_ARCS = 12_000


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard to try. The same rounds and seed give the same walk; seconds only ever cut short.

    ``rounds`` of local search; ``seconds`` for everything; ``prove`` asks for the bound;
    ``search_share`` is the share of the seconds that the local search may take when it does.
    """

    rounds: int = 1500
    seconds: float = math.inf
    prove: bool = True
    search_share: float = 0.15


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
    Ruin-and-recreate search on the closure of shortest ways; then a linear relaxation of a
    time-flow formulation tightened by connectivity cuts, reduced-cost fixing against the walk found,
    and branch and bound in HiGHS started from it.
    """
    check_problem(problem)
    began = clock()
    ground = ground_of(problem)
    shortest = float(ground.ways.minutes[problem.start, problem.finish])
    if shortest > problem.minutes:
        raise no_way(problem, shortest)
    run = _Run(ground, seed, effort or Effort(), lambda: clock() - began, tell)
    run.search()
    run.prove()
    if run.found is None:
        raise NoAnswer(
            "no walk in this time visits everything that must be seen",
            remedy="allow more time, or ask for less",
        )
    return result_of(problem, run.found.steps, run.found.prizes, bound_kg=run.bound_kg, method=run.method)


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

    @property
    def kg(self) -> float:
        """Kilograms of the best walk, -1 before any."""
        return -1.0 if self.found is None else self.found.kg

    def say(self, stage: str) -> None:
        """Tell how far the search has come."""
        self.tell(Progress(max(self.kg, 0.0), self.bound_kg, stage))

    def search(self) -> None:
        """The local search."""
        problem, ground, effort = self.problem, self.ground, self.effort
        lay = lay_out(ground.modes, ground.ways, problem.start, problem.finish, problem.minutes)
        share = effort.seconds * (effort.search_share if effort.prove else 1.0)
        rounds = effort.rounds if len(ground.modes.prize) else 0
        tour = Search(problem, lay, self.seed).run(rounds, lambda: self.spent() > share)
        prizes = [int(p) for p in ground.modes.prize[tour.sequence]]
        if problem.must_see <= set(prizes):
            steps = steps_of_sequence(problem, lay, ground.arcs, tour.sequence)
            self.found = Found(steps, prizes, usable_kg(problem, prizes))
        self.say("search")

    def prove(self) -> None:
        """Tighten the bound, then branch and bound, until they meet or time is up."""
        seconds = self.effort.seconds
        if not self.effort.prove or self.closed() or len(self.ground.arcs.tail) > MOST_ARCS:
            return
        self.method = "branch and cut"
        formulation = formulate(self.ground)
        relaxed = tighten(
            formulation, self.kg, seed=self.seed, stop=lambda: self.spent() > 0.6 * seconds, watch=self.lower
        )
        self.lower(relaxed.bound_kg)
        if self.closed() or self.spent() >= seconds:
            return
        programme = Programme(narrow(formulation, relaxed, self.kg), seed=self.seed, relaxed=False)
        programme.add_rows(list(relaxed.cuts))
        start = None if self.found is None else columns_of(formulation, self.found)
        answer = programme.solve(seconds=min(seconds - self.spent(), 1e7), start=start)
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
