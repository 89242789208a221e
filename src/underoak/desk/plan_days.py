"""Several days and cars in one plan: which wood on which day, by whom."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from underoak.desk.plan_walk import keep, no_telling, outing_of, party_of, solved
from underoak.desk.walk_problem import problem_of
from underoak.errors import NoAnswer, UserMistake

if TYPE_CHECKING:
    from underoak.desk.walk_plan import Outing, PlannedWalk, WalkPlan, WalkWish
    from underoak.ledger.connection import Ledger
    from underoak.model.household import Settings
    from underoak.settings import Home
    from underoak.walk.several import Slot

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
#: More walks than this in one plan would be weighed too roughly.
MOST_WALKS = 6


@dataclass(frozen=True, slots=True)
class DaysPlan:
    """The walks of all days and cars, in order, and what they bring together."""

    walks: tuple[WalkPlan, ...]
    kg: float
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

    Only places that allow gathering on that day take part. The party is shared out among the cars.

    Every walk is kept in the ledger as an answer of its own.

    Raises
    ------
    UserMistake   for fewer people than cars, or more walks than `MOST_WALKS`
    NoAnswer      when no place allows gathering on any of the days
    """
    from underoak.book.load import load_book
    from underoak.ledger.database import open_ledger
    from underoak.walk.several import Slot, plan_several
    from underoak.walk.solve import Effort, solve

    if wish.must_see or wish.avoid:
        raise UserMistake(
            "spots to see and to avoid belong to one walk", where="--days", remedy="plan the walks one by one"
        )
    party = party_of(home.settings, wish.party)
    slots = [Slot(day, car) for day in range(len(days)) for car in range(cars)]
    if not 1 <= cars <= len(party) or len(slots) > MOST_WALKS:
        raise UserMistake(
            f"{cars} car(s) for {len(party)} people on {len(days)} day(s)",
            where="--cars",
            expected=f"a driver for each car and at most {MOST_WALKS} walks",
        )
    book = load_book()
    connection = open_ledger(home.ledger)
    try:
        options = _options(connection, home.settings, wish, days=days, slots=slots, today=today)
        ready = {key: problem_of(connection, outing, book) for key, outing in options.items()}
    finally:
        connection.close()
    if not ready:
        raise NoAnswer(
            "no place allows gathering on these days", remedy="plan a walk to look, one place at a time"
        )
    effort = Effort(rounds=60, prove=False)
    given = plan_several(
        slots,
        {key: problem for key, (problem, _) in ready.items()},
        lambda problem: solve(problem, seed=wish.seed, effort=effort),
        {slot.day: problem.kitchen_kg for (slot, _), (problem, _) in ready.items()},
    )
    walks, asked = [], []
    for one in given:
        outing, notes = options[one.slot, one.place], ready[one.slot, one.place][1]
        each = replace(outing, wish=replace(outing.wish, seconds=wish.seconds / len(given)))
        walks.append(solved(each, one.problem, notes, book_version=book.version, clock=clock, tell=tell))
        asked.append(each.wish)
    walks = _kept(home, walks, asked, book_version=book.version, today=today)
    return _summary(walks, len(days), cars), tuple(walks)


def _kept(
    home: Home, walks: Sequence[PlannedWalk], asked: Sequence[WalkWish], *, book_version: str, today: date
) -> list[PlannedWalk]:
    """All walks stored as answers, or none of them."""
    from underoak.ledger.database import open_ledger, writing

    connection = open_ledger(home.ledger)
    try:
        with writing(connection):
            return [
                keep(connection, wish, walk, book_version=book_version, today=today)
                for walk, wish in zip(walks, asked, strict=True)
            ]
    finally:
        connection.close()


def _options(
    connection: Ledger,
    settings: Settings,
    wish: WalkWish,
    *,
    days: Sequence[date],
    slots: Sequence[Slot],
    today: date,
) -> dict[tuple[Slot, str], Outing]:
    """Every place that can be gone to in each slot."""
    from underoak.ledger.places import places

    party = party_of(settings, wish.party)
    cars = 1 + max(slot.car for slot in slots)
    options = {}
    for slot in slots:
        mine = tuple(person.name for person in party[slot.car :: cars])
        for place in places(connection):
            if wish.place and wish.place.casefold() not in (place.name.casefold(), place.id.casefold()):
                continue
            own = replace(wish, day=days[slot.day], place=place.id, party=mine)
            outing = outing_of(connection, settings, own, today)
            if outing.rule.allowed:
                options[slot, place.id] = outing
    return options


def _summary(walks: Sequence[PlannedWalk], days: int, cars: int) -> DaysPlan:
    notes = [f"{days} day(s), {cars} car(s): each walk is planned on what the walks before it leave."]
    lean = [walk.plan.place for walk in walks if walk.plan.kg < 0.05]
    notes += [f"{place} promises next to nothing then; stay at home?" for place in lean]
    return DaysPlan(tuple(walk.plan for walk in walks), sum(walk.plan.kg for walk in walks), tuple(notes))
