"""Which way to go, given a day, hours, party, car park and appetite."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

from underoak.desk.walk_ground import walk_ground
from underoak.desk.walk_plan import Outing, PlannedWalk, WalkWish, plan_of
from underoak.desk.walk_time import walk_time
from underoak.errors import UserMistake

if TYPE_CHECKING:
    import sqlite3

    from underoak.book.load import Book
    from underoak.model.household import Kitchen, Person, Settings
    from underoak.settings import Home
    from underoak.walk.problem import WalkProblem
    from underoak.walk.solve import Effort

#: Water, clothes, light and food of the most burdened walker [kg]. Common practice, no source.
DAY_PACK_KG = 4.0
#: Share of an adult's speed when a child comes along. Common practice, no source.
CHILD_PACE = 0.7
#: What loosely filled paper bags in the refrigerator hold [kg/l]. Common practice, no source.
FRIDGE_KG_L = 0.1


def no_telling(_: object) -> None:
    """Hear of progress and do nothing."""


def plan_walk(
    home: Home,
    wish: WalkWish,
    *,
    today: date,
    clock: Callable[[], float] = lambda: 0.0,
    tell: Callable[[Any], None] = no_telling,
) -> PlannedWalk:
    """Plan one walk and keep the answer in the ledger.

    Parameters
    ----------
    home, wish : whose, and what is asked
    today : the day on which the question is asked
    clock : seconds that pass, for the limit of ``wish.seconds``
    tell : is told how far the search has come

    Raises
    ------
    UserMistake   for names that are unknown or stand for two, hours out of range
    NoAnswer      when there is no daylight, no trail from the car park or nothing to plan with
    """
    from underoak.book.load import load_book
    from underoak.ledger.answers import store_answer
    from underoak.ledger.database import open_ledger, writing

    book = load_book()
    connection = open_ledger(home.ledger_path)
    try:
        walk = _planned(connection, outing_of(connection, home.settings, wish, today), book, clock, tell)
        with writing(connection):
            answer_id = store_answer(
                connection,
                "walk",
                made_on=today,
                for_day=wish.day,
                book_version=book.version,
                inputs=_inputs(wish),
                document=walk.plan,
            )
    finally:
        connection.close()
    return replace(walk, plan=replace(walk.plan, answer_id=answer_id))


def _inputs(wish: WalkWish) -> dict[str, object]:
    names = ("hours", "place", "car_park", "party", "taxa", "seed", "seconds")
    return {"leaves": wish.leaves.isoformat()} | {name: getattr(wish, name) for name in names}


def outing_of(connection: sqlite3.Connection, settings: Settings, wish: WalkWish, today: date) -> Outing:
    """Names become records and hours become moments; raises what `plan_walk` does."""
    from underoak.walk.permission import gather_rule

    party = party_of(settings, wish.party)
    ground = walk_ground(connection, place=wish.place, car_park=wish.car_park)
    when = walk_time(
        wish.day,
        leaves=wish.leaves,
        hours=wish.hours,
        latitude_deg=ground.car_park.latitude_deg,
        longitude_deg=ground.car_park.longitude_deg,
        timezone=settings.where.timezone,
    )
    rule = gather_rule(ground.place.permission, wish.day, len(party))
    return Outing(wish, today, settings, ground, party, when, rule)


def _planned(
    connection: sqlite3.Connection,
    outing: Outing,
    book: Book,
    clock: Callable[[], float],
    tell: Callable[[Any], None],
) -> PlannedWalk:
    from underoak.walk.left_out import left_out
    from underoak.walk.solve import solve

    wish = outing.wish
    problem, notes = problem_of(connection, outing, book)
    result = solve(problem, seed=wish.seed, effort=_effort(wish), clock=clock, tell=tell)
    result = replace(result, left_out=left_out(problem, result))
    plan = plan_of(outing, problem, result, notes=notes, book_version=book.version)
    return PlannedWalk(plan, outing.ground, problem, result)


def _effort(wish: WalkWish) -> Effort:
    """As many rounds as the seconds allow; without a limit of time a fixed number."""
    from underoak.walk.solve import Effort

    return Effort() if math.isinf(wish.seconds) else Effort(rounds=1_000_000, seconds=wish.seconds)


def party_of(settings: Settings, names: Sequence[str]) -> tuple[Person, ...]:
    """The people who walk; UserMistake for a name the household does not have or that comes twice."""
    if not names:
        return settings.people
    by_name = {person.name.casefold(): person for person in settings.people}
    unknown = [name for name in names if name.casefold() not in by_name]
    if unknown:
        known = ", ".join(person.name for person in settings.people)
        raise UserMistake(f"nobody is called {unknown[0]!r}", where="--party", expected=f"some of {known}")
    if len({name.casefold() for name in names}) < len(names):
        raise UserMistake("a name comes twice", where="--party")
    return tuple(by_name[name.casefold()] for name in names)


def kitchen_takes_kg(kitchen: Kitchen) -> float:
    """What the kitchen can take in one evening [kg]: dryer, freezer and refrigerator together.

    Stated rule: full dryer trays, one day's freezer load (no more than its free room at 0.5 kg/l) and
    paper bags in the refrigerator. Common practice, no source.
    """
    frozen = min(kitchen.freezer_load_kg_day, 0.5 * kitchen.freezer_free_l)
    return kitchen.dryer_trays * kitchen.tray_holds_kg + frozen + FRIDGE_KG_L * kitchen.fridge_free_l


def problem_of(
    connection: sqlite3.Connection, outing: Outing, book: Book
) -> tuple[WalkProblem, tuple[str, ...]]:
    """The problem to solve, and notes on what it stands on.

    On a walk to look the same prizes lead the way, but neither bag nor kitchen limits it.
    """
    import numpy as np

    from underoak.desk.place_weather import place_climates
    from underoak.desk.walk_prizes import appetite, outlook_inputs, prizes_of
    from underoak.walk.problem import WalkGraph, WalkProblem
    from underoak.walk.travel_time import Pace, directed_minutes

    ground, rule = outing.ground, outing.rule
    share = CHILD_PACE if any(person.child for person in outing.party) else 1.0
    there, back = directed_minutes(ground.network, Pace(party=share, load_kg=DAY_PACK_KG))
    ends = np.array([(edge.start, edge.end) for edge in ground.network.edges], dtype=np.int64)
    climates, note = place_climates(connection, outing.settings.where, [ground.place], today=outing.today)
    prizes = prizes_of(
        ground,
        appetite(book, outing.wish.taxa),
        outing.wish.day,
        climates=climates,
        visits=outlook_inputs(connection, outing.wish.day),
        walk_min=np.minimum(there, back),
    )
    limited = rule.allowed
    problem = WalkProblem(
        WalkGraph(len(ground.network.nodes), ends[:, 0], ends[:, 1], there, back),
        tuple(prizes),
        ground.start,
        ground.start,
        outing.when.minutes - 2.0 * outing.gap_min,
        carry_kg=sum(person.carries_kg for person in outing.party) if limited else math.inf,
        kitchen_kg=kitchen_takes_kg(outing.settings.kitchen) if limited else math.inf,
        place_limit_kg=(rule.limit_kg if limited else math.inf,),
    )
    return problem, (*note.notes, *_ground_notes(outing, prizes))


def _ground_notes(outing: Outing, prizes: Sequence[object]) -> tuple[str, ...]:
    from underoak.woods.network_report import report

    ground = outing.ground
    notes = [f"Trails: {line}." for line in report(ground.network).sentences()[:2]]
    if not ground.trees:
        notes.append("No host tree is on record at this place: load an inventory with 'underoak load trees'.")
    if not prizes:
        notes.append("Nothing is expected along these trails on that day; this is merely the shortest way.")
    if ground.start_gap_m > 25.0:
        notes.append(f"The trail begins {ground.start_gap_m:.0f} m from the car park.")
    return tuple(notes)
