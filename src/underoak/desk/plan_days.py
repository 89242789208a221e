"""Several days and cars in one plan: which wood on which day, by whom."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from underoak.desk.plan_walk import keep, no_telling, party_of
from underoak.desk.solve_walk import solved
from underoak.errors import UserMistake
from underoak.model.quantities import counted

if TYPE_CHECKING:
    from underoak.desk.day_outings import Option
    from underoak.desk.walk_plan import PlannedWalk, WalkPlan, WalkWish
    from underoak.settings import Home
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import WalkResult
    from underoak.walk.several import Given, Slot

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
#: More walks than this in one plan would be weighed too roughly.
MOST_WALKS = 6
#: Share of the time for the walks themselves; the rest goes into sharing out the days and its bound.
WALKS_SHARE = 0.6
#: A walk that promises less is hardly worth the drive [kg]. Judgement.
LEAN_KG = 0.05
#: A gap this small is none [share].
PROVED_GAP = 1e-4


@dataclass(frozen=True, slots=True)
class DaysPlan:
    """The walks of all days and cars, in order, and what they bring together.

    No way to share out days, cars and woods brings more than ``bound_kg``; ``gap`` is the share of it that
    this one may lack.
    """

    walks: tuple[WalkPlan, ...]
    kg: float
    bound_kg: float
    gap: float
    notes: tuple[str, ...]


def days_named(text: str, today: date) -> tuple[date, ...]:
    """Days from a list of weekdays (the next one, today included) and dates; in order, each once.

    Raises UserMistake for anything else, and for days gone by.
    """
    days = set()
    for word in (part.strip().casefold() for part in text.split(",") if part.strip()):
        if word[:3] in WEEKDAYS:
            days.add(today + timedelta(days=(WEEKDAYS.index(word[:3]) - today.weekday()) % 7))
            continue
        try:
            days.add(date.fromisoformat(word))
        except ValueError as error:
            raise UserMistake(
                f"{word!r} is no day", where="--days", expected="such as sat,sun or 2026-10-10"
            ) from error
    if not days or min(days) < today:
        raise UserMistake("no day, or one that has gone by", where="--days", expected="days from today on")
    return tuple(sorted(days))


def plan_days(
    home: Home,
    wish: WalkWish,
    *,
    days: Sequence[date],
    cars: int,
    today: date,
    clock: Callable[[], float] = lambda: 0.0,
    tell: Callable[[Any], None] = no_telling,
) -> tuple[DaysPlan, tuple[PlannedWalk, ...]]:
    """Give each day and car its wood, so that the sum is best and no prize is paid twice.

    Only places that allow gathering on that day take part. The party is shared out among the cars. A spot
    to see is seen on one of the walks to its wood; spots and trails to avoid are avoided wherever they are.

    Every walk is kept in the ledger as an answer of its own.

    Raises
    ------
    UserMistake   for fewer grown-ups than cars, more walks than `MOST_WALKS`, and as
        `underoak.desk.day_outings.options_of` does
    NoAnswer      when no place allows gathering on any of the days, or no walks visit what must be seen
    """
    from underoak.book.load import load_book
    from underoak.desk.day_outings import options_of
    from underoak.ledger.database import open_ledger
    from underoak.walk.several import Slot

    party = party_of(home.settings, wish.party)
    slots = [Slot(day, car) for day in range(len(days)) for car in range(cars)]
    grown = sum(not person.child for person in party)
    if not 1 <= cars <= grown or len(slots) > MOST_WALKS:
        raise UserMistake(
            f"{counted(cars, 'car')} with {counted(grown, 'grown-up')} on {counted(len(days), 'day')}",
            where="--cars",
            expected=f"a grown-up for each car and at most {MOST_WALKS} walks",
        )
    book = load_book()
    connection = open_ledger(home.ledger)
    try:
        options, refused = options_of(
            connection, home.settings, book, wish, days=days, slots=slots, today=today
        )
    finally:
        connection.close()
    shared = _Sharing.of(slots, options, wish, clock)
    given = shared.given()
    asked = _walked(given, options, wish, book_version=book.version, clock=clock, tell=tell)
    bound_kg = shared.bound_kg(given, [walk for _, walk in asked])
    walks = _kept(home, asked, book_version=book.version, today=today)
    told = (
        f"{counted(len(days), 'day')}, {counted(cars, 'car')}: "
        "each walk is planned on what the walks before it leave.",
    )
    return _summary(walks, bound_kg, (*told, *(f"Not planned: {words}" for words in refused))), tuple(walks)


def _walked(
    given: Sequence[Given],
    options: Mapping[tuple[Slot, str], Option],
    wish: WalkWish,
    *,
    book_version: str,
    clock: Callable[[], float],
    tell: Callable[[Any], None],
) -> list[tuple[WalkWish, PlannedWalk]]:
    """The walks planned in full, each on what those before it leave: no prize and no room pays twice."""
    from underoak.walk.several import key_of, left_of

    gone: dict[str, set[str]] = {}
    taken_kg: dict[int, float] = {}
    walks = []
    for one in given:
        option = options[one.slot, one.place]
        seconds = WALKS_SHARE * wish.seconds / len(given)
        outing = replace(option.outing, wish=replace(option.outing.wish, seconds=seconds))
        whole, taken = option.posed.problem, gone.setdefault(one.place, set())
        room = max(whole.kitchen_kg - taken_kg.get(one.slot.day, 0.0), 0.0)
        must = frozenset(p for p in one.problem.must_see if key_of(whole, p) not in taken)
        posed = option.left(replace(left_of(whole, taken, room), must_see=must))
        walk = solved(outing, posed, book_version=book_version, clock=clock, tell=tell)
        taken |= {key_of(whole, p) for p in walk.result.gathered}
        taken_kg[one.slot.day] = taken_kg.get(one.slot.day, 0.0) + walk.result.kg
        walks.append((outing.wish, walk))
    return walks


@dataclass(frozen=True, slots=True, eq=False)
class _Sharing:
    """Sharing out woods among slots: the problems, each solved alone, and what the kitchen takes by day."""

    slots: Sequence[Slot]
    problems: Mapping[tuple[Slot, str], WalkProblem]
    alone: Mapping[tuple[Slot, str], WalkResult]
    room: Mapping[int, float]
    quick: Callable[[WalkProblem], WalkResult]
    bounded: Callable[[WalkProblem], WalkResult]

    @classmethod
    def of(
        cls,
        slots: Sequence[Slot],
        options: Mapping[tuple[Slot, str], Option],
        wish: WalkWish,
        clock: Callable[[], float],
    ) -> _Sharing:
        """Every wood in every slot solved by itself, on its part of the time."""
        from underoak.walk.several_bound import MOST_JOINED
        from underoak.walk.solve import Effort, solve

        problems = {key: option.posed.problem for key, option in options.items()}
        seconds = (1.0 - WALKS_SHARE) * wish.seconds / (len(problems) + MOST_JOINED)
        proving = Effort(rounds=60, seconds=seconds, nodes=0 if math.isinf(seconds) else None)

        def quick(problem: WalkProblem) -> WalkResult:
            return solve(problem, seed=wish.seed, effort=Effort(rounds=60, prove=False))

        def bounded(problem: WalkProblem) -> WalkResult:
            return solve(problem, seed=wish.seed, effort=proving, clock=clock)

        alone = {key: bounded(replace(problem, must_see=frozenset())) for key, problem in problems.items()}
        room = {slot.day: problem.kitchen_kg for (slot, _), problem in problems.items()}
        return cls(slots, problems, alone, room, quick, bounded)

    def given(self) -> tuple[Given, ...]:
        """The walks by slot and place, quickly planned."""
        from underoak.walk.several import plan_several

        return plan_several(self.slots, self.problems, self.alone, self.quick, self.room)

    def bound_kg(self, given: Sequence[Given], walks: Sequence[PlannedWalk]) -> float:
        """What no other way to share out the days exceeds.

        Method: `bound_several`. A walk planned in full to which nothing was lost before it has a bound of
        its own, found in more time: where it is tighter it takes the place of the quick one.
        """
        from underoak.walk.several_bound import bound_several

        alone = dict(self.alone)
        for one, walk in zip(given, walks, strict=True):
            key, whole = (one.slot, one.place), self.problems[one.slot, one.place]
            as_alone = walk.problem.prizes == whole.prizes and walk.problem.kitchen_kg == whole.kitchen_kg
            if as_alone and not walk.problem.must_see:
                least = min(alone[key].bound_kg, walk.result.bound_kg)
                alone[key] = replace(alone[key], bound_kg=least)
        return bound_several(self.slots, self.problems, alone, self.bounded, self.room)


def _kept(
    home: Home, asked: Sequence[tuple[WalkWish, PlannedWalk]], *, book_version: str, today: date
) -> list[PlannedWalk]:
    """All walks stored as answers, or none of them."""
    from underoak.ledger.database import open_ledger, writing

    connection = open_ledger(home.ledger)
    try:
        with writing(connection):
            return [
                keep(connection, wish, walk, book_version=book_version, today=today) for wish, walk in asked
            ]
    finally:
        connection.close()


def _summary(walks: Sequence[PlannedWalk], bound_kg: float, notes: tuple[str, ...]) -> DaysPlan:
    from underoak.walk.result import gap_of

    kg = sum(walk.plan.kg for walk in walks)
    bound_kg = max(bound_kg, kg)
    lean = [walk.plan for walk in walks if walk.plan.kg < LEAN_KG]
    stay = tuple(f"{one.place} promises next to nothing on {one.day}; stay at home?" for one in lean)
    gap = gap_of(kg, bound_kg)
    return DaysPlan(tuple(walk.plan for walk in walks), kg, bound_kg, gap, (*notes, *stay))


def days_lines(plan: DaysPlan) -> list[str]:
    """What all walks bring together, how good that is, and what has to be said of it."""
    most = f"{plan.bound_kg:.2f} kg: within {100 * plan.gap:.1f} %"
    return [
        f"{plan.kg:.2f} kg expected on {counted(len(plan.walks), 'walk')}",
        "Proved best: no other way to share out the days promises more."
        if plan.gap <= PROVED_GAP
        else f"No other way to share out the days promises more than {most}.",
        *(f"Note: {note}" for note in plan.notes),
    ]
