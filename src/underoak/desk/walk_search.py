"""One outing's searches: the walk for its goal, short ones around it, and of all of them the best."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from underoak.desk.walk_problem import DAY_PACK_KG
from underoak.errors import NoAnswer
from underoak.walk.problem import usable_kg

if TYPE_CHECKING:
    from underoak.desk.walk_plan import WalkWish
    from underoak.walk.growing_load import Carrier
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import WalkResult
    from underoak.walk.robust import Goal, Promise
    from underoak.walk.solve import Effort

#: The goals in the order in which their walks are shown.
GOALS: tuple[Goal, ...] = ("expected", "something", "poor_day")
#: Branches of the proof where no clock decides.
STEADY_NODES = 20
#: Shares of the time: for the walk with its proof, and for each short search around it.
PROVING_SHARE, QUICK_SHARE = 0.75, 0.03


@dataclass(frozen=True, slots=True, eq=False)
class WalkSearch:
    """One outing's searches: the one that is to prove its walk, and many short ones around it.

    ``met`` holds every walk that any of them found, whatever it was searched for.
    """

    wish: WalkWish
    problem: WalkProblem
    carriers: Sequence[Carrier]
    clock: Callable[[], float]
    tell: Callable[[Any], None]
    met: list[WalkResult] = field(default_factory=list)

    def solve(self, problem: WalkProblem) -> WalkResult:
        """With the bound, on the greater part of the time; for a poor day one of many, and no bound."""
        from underoak.walk.robust import LEVELS

        parts = 2 + len(LEVELS) if self.wish.goal == "poor_day" else 1
        effort = replace(self._effort(PROVING_SHARE / parts), prove=parts == 1)
        return self._noted(problem, effort, self.tell)

    def quick(self, problem: WalkProblem, enough_kg: float = math.inf) -> WalkResult:
        """Without a bound, in a moment."""
        effort = replace(self._effort(QUICK_SHARE), prove=False, enough_kg=enough_kg)
        return self._noted(problem, effort)

    def shown(self) -> tuple[WalkResult, tuple[Promise, ...]]:
        """The walk to show, and what it may bring beside the best walks met for the other two goals.

        Every walk met that is in time with its load counts for every goal, whatever it was searched for:
        no walk shown for one goal is better in another than that which is shown for the other.

        Raises NoAnswer when what must be seen cannot be seen in time.
        """
        from underoak.walk.robust import promise, towards
        from underoak.walk.spare_minutes import filled_up

        goal, seed = self.wish.goal, self.wish.seed
        first = self._gathering()
        for other in GOALS:
            if other != goal:
                # a short search may miss what must be seen; then there is one walk less to choose from
                with suppress(NoAnswer):
                    self.quick(towards(self.problem, other))
        best = {one: self._best(first, one) for one in GOALS}
        self.met.extend(filled_up(self.problem, walk, self._in_time) for walk in best.values())
        best = {one: self._best(best[goal], one) for one in GOALS}
        return best[goal], tuple(promise(self.problem, best[one], one, seed=seed) for one in GOALS)

    def _gathering(self) -> WalkResult:
        """The walk for the goal of the wish, in time under its load and no longer than it needs."""
        from underoak.walk.growing_load import IN_TIME, solve_loaded
        from underoak.walk.robust import choose, value_of

        goal, seed = self.wish.goal, self.wish.seed

        def first(problem: WalkProblem) -> WalkResult:
            walk = choose(problem, goal, self.solve, seed=seed)
            return self._no_longer(walk) if goal == "expected" else walk

        result, minutes = solve_loaded(
            self.problem, self.carriers, DAY_PACK_KG, first,
            lambda problem: choose(problem, goal, self.quick, seed=seed),
            worth=lambda walk: value_of(self.problem, walk, goal, seed=seed),
        )  # fmt: skip
        if minutes > self.problem.minutes + IN_TIME:
            raise NoAnswer(
                "no walk in this time visits everything that must be seen and carries it home",
                remedy="allow more time, or ask for less",
            )
        return result

    def _no_longer(self, walk: WalkResult) -> WalkResult:
        from underoak.walk.shortest_enough import shortest_enough

        return shortest_enough(self.problem, walk, self.quick)

    def _best(self, first: WalkResult, goal: Goal) -> WalkResult:
        """The best walk met for a goal that is in time with its load; ``first`` where none is better."""
        from underoak.walk.robust import value_of

        def worth(walk: WalkResult) -> float:
            return value_of(self.problem, walk, goal, seed=self.wish.seed)

        best = max([first, *filter(self._in_time, self.met)], key=worth)
        if best is first:
            return first
        best = self._counted(best, first.bound_kg)
        if goal == self.wish.goal == "expected":
            shorter = self._no_longer(best)
            best = shorter if self._in_time(shorter) else best
        return best

    def _in_time(self, walk: WalkResult) -> bool:
        from underoak.walk.growing_load import IN_TIME, loaded_minutes

        minutes = loaded_minutes(self.problem, walk, self.carriers, DAY_PACK_KG)
        return minutes <= self.problem.minutes + IN_TIME

    def _counted(self, walk: WalkResult, bound_kg: float) -> WalkResult:
        """A walk that was searched for something else, in kilograms and under the bound of all walks."""
        from underoak.walk.result import gap_of

        kg = usable_kg(self.problem, list(walk.gathered))
        gap = 1.0 if math.isinf(bound_kg) else gap_of(kg, bound_kg)
        return replace(walk, kg=kg, bound_kg=bound_kg, gap=gap, proved=gap <= 1e-6)

    def _noted(
        self, problem: WalkProblem, effort: Effort, tell: Callable[[Any], None] = lambda _: None
    ) -> WalkResult:
        from underoak.walk.solve import solve

        self.met.append(solve(problem, seed=self.wish.seed, effort=effort, clock=self.clock, tell=tell))
        return self.met[-1]

    def _effort(self, share: float) -> Effort:
        """As many rounds as a share of the seconds allows; without seconds a fixed number.

        Without seconds no clock decides, and the same ground gives the same walk on every computer.
        """
        from underoak.walk.solve import Effort

        if math.isinf(self.wish.seconds):
            return Effort(rounds=self.wish.rounds, nodes=STEADY_NODES)
        return Effort(rounds=1_000_000, seconds=share * self.wish.seconds)
