"""From a posed problem to the walk that is shown: solved for its goal, in time with its load, explained."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from underoak.desk.walk_plan import Outing, PlannedWalk, WalkWish, plan_of
from underoak.desk.walk_problem import DAY_PACK_KG
from underoak.errors import NoAnswer
from underoak.walk.problem import usable_kg, with_kg

if TYPE_CHECKING:
    from underoak.desk.walk_problem import Posed
    from underoak.walk.growing_load import Carrier
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import WalkResult
    from underoak.walk.robust import Goal, Promise
    from underoak.walk.solve import Effort

#: Body mass taken for an adult and a child [kg]. Common practice, no source.
ADULT_KG, CHILD_KG = 70.0, 35.0
#: Branches of the proof where no clock decides.
STEADY_NODES = 20
#: Shares of the time: for the walk with its proof, and for each short search around it.
PROVING_SHARE, QUICK_SHARE = 0.75, 0.03
#: A range of kilograms that is narrower is not worth a line [kg].
LEAST_RANGE_KG = 0.05


def mark_of(problem: WalkProblem) -> str:
    """A mark of where every prize lies: the same mark, the same positions."""
    told = "|".join(f"{p.edge},{p.node},{p.key}" for p in problem.prizes)
    return hashlib.sha256(told.encode()).hexdigest()[:16]


def solved(
    outing: Outing,
    posed: Posed,
    *,
    book_version: str,
    clock: Callable[[], float],
    tell: Callable[[Any], None],
) -> PlannedWalk:
    """The planned walk of a problem: solved for its goal, in time with its growing basket, explained.

    Raises NoAnswer when what must be seen cannot be seen in time.
    """
    from underoak.walk.growing_load import loaded, pace_share
    from underoak.walk.left_out import left_out

    problem, carriers = posed.problem, carriers_of(outing)
    search = _Search(outing.wish, problem, carriers, clock, tell)
    promises: tuple[Promise, ...] = ()
    if outing.rule.allowed:
        result = search.gathering()
        promises = search.promises(result)
        timed, pace = (
            loaded(problem, result, carriers, DAY_PACK_KG),
            pace_share(carriers, result.kg, DAY_PACK_KG),
        )
    else:
        result = timed = search.solve(problem)
        pace = 1.0
    timed = replace(timed, left_out=left_out(problem, result))
    notes = posed.notes
    if outing.rule.allowed:
        notes = (
            *notes,
            *_sight_range(posed, result.gathered),
            *_on_average(result, promises, outing.wish.goal),
        )
    plan = plan_of(
        outing, problem, timed, pace=pace, promises=promises, notes=notes, book_version=book_version
    )
    room = problem.kitchen_kg if math.isfinite(problem.kitchen_kg) else None
    plan = replace(plan, prizes_mark=mark_of(problem), kitchen_kg=room)
    return PlannedWalk(plan, outing.ground, problem, timed, posed.ground_mark, pace)


@dataclass(frozen=True, slots=True, eq=False)
class _Search:
    """One outing's searches: the one that is to prove its walk, and many short ones around it."""

    wish: WalkWish
    problem: WalkProblem
    carriers: Sequence[Carrier]
    clock: Callable[[], float]
    tell: Callable[[Any], None]

    def solve(self, problem: WalkProblem) -> WalkResult:
        """With the bound, on the greater part of the time; for a poor day one of many, and no bound."""
        from underoak.walk.robust import LEVELS
        from underoak.walk.solve import solve

        parts = 2 + len(LEVELS) if self.wish.goal == "poor_day" else 1
        effort = replace(self._effort(PROVING_SHARE / parts), prove=parts == 1)
        return solve(problem, seed=self.wish.seed, effort=effort, clock=self.clock, tell=self.tell)

    def quick(self, problem: WalkProblem, enough_kg: float = math.inf) -> WalkResult:
        """Without a bound, in a moment."""
        from underoak.walk.solve import solve

        effort = replace(self._effort(QUICK_SHARE), prove=False, enough_kg=enough_kg)
        return solve(problem, seed=self.wish.seed, effort=effort, clock=self.clock)

    def gathering(self) -> WalkResult:
        """The walk for the goal of the wish, in time under its load and no longer than it needs."""
        from underoak.walk.growing_load import IN_TIME, solve_loaded
        from underoak.walk.robust import choose, value_of
        from underoak.walk.shortest_enough import shortest_enough

        goal, seed = self.wish.goal, self.wish.seed

        def first(problem: WalkProblem) -> WalkResult:
            walk = choose(problem, goal, self.solve, seed=seed)
            return shortest_enough(problem, walk, self.quick) if goal == "expected" else walk

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

    def promises(self, result: WalkResult) -> tuple[Promise, ...]:
        """What the walk may bring, beside the walks of the other two goals, which are only searched."""
        from underoak.walk.robust import promise, towards

        goals: tuple[Goal, ...] = ("expected", "something", "poor_day")
        seed, told = self.wish.seed, []
        met = [result, *(self.quick(towards(self.problem, g)) for g in goals if g != self.wish.goal)]
        for goal in goals:
            own = max(met, key=lambda walk, g=goal: _shown_by(promise(self.problem, walk, g, seed=seed)))  # type: ignore[misc]
            told.append(promise(self.problem, result if goal == self.wish.goal else own, goal, seed=seed))
        return tuple(told)

    def _effort(self, share: float) -> Effort:
        """As many rounds as a share of the seconds allows; without seconds a fixed number.

        Without seconds no clock decides, and the same ground gives the same walk on every computer.
        """
        from underoak.walk.solve import Effort

        if math.isinf(self.wish.seconds):
            return Effort(rounds=self.wish.rounds, nodes=STEADY_NODES)
        return Effort(rounds=1_000_000, seconds=share * self.wish.seconds)


def carriers_of(outing: Outing) -> tuple[Carrier, ...]:
    """The party as carriers: adults with a day pack, children with none."""
    from underoak.walk.growing_load import Carrier

    return tuple(
        Carrier(
            0.0 if person.child else DAY_PACK_KG, person.carries_kg, CHILD_KG if person.child else ADULT_KG
        )
        for person in outing.party
    )


def _shown_by(told: Promise) -> tuple[float, float]:
    """What the walk shown for a goal is the best in, then the average."""
    shown = {"expected": told.expected_kg, "something": told.something, "poor_day": told.poor_kg}
    return shown[told.goal], told.expected_kg


def _on_average(result: WalkResult, promises: Sequence[Promise], goal: Goal) -> tuple[str, ...]:
    """What comes home on average, where bag, kitchen or a limit cut the good days and not the poor ones."""
    average = next((one.home_kg for one in promises if one.goal == goal), result.kg)
    if result.kg - average < max(0.1 * result.kg, LEAST_RANGE_KG):
        return ()
    return (
        f"What may be taken cuts the good days, not the poor ones: on average {average:.2f} kg come home.",
    )


def _sight_range(posed: Posed, gathered: Sequence[int]) -> tuple[str, ...]:
    """What the same walk promises with the shortest and the longest likely sight, where that differs."""
    if not posed.low_kg or not gathered:
        return ()
    low, high = (
        usable_kg(with_kg(posed.problem, kg), list(gathered)) for kg in (posed.low_kg, posed.high_kg)
    )
    low, high = min(low, high), max(low, high)
    if high - low < LEAST_RANGE_KG:
        return ()
    return (f"Seen less or more far from the trail, this walk would promise {low:.2f} to {high:.2f} kg.",)
