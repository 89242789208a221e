"""Which way to go, given a day, hours, party, car park and appetite."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

from underoak.desk.solve_walk import solved
from underoak.desk.walk_ground import reaches, walk_ground
from underoak.desk.walk_plan import Outing, PlannedWalk, WalkWish
from underoak.desk.walk_problem import problem_of
from underoak.desk.walk_time import walk_time
from underoak.errors import NoAnswer, UserMistake

if TYPE_CHECKING:
    from underoak.desk.walk_ground import WalkGround
    from underoak.ledger.connection import Ledger
    from underoak.model.household import Person, Settings
    from underoak.settings import Home
    from underoak.walk.problem import WalkProblem


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
    NoAnswer      when there is no daylight, no trail from the car park, or nothing to walk for
    """
    from underoak.book.load import load_book
    from underoak.ledger.database import open_ledger, writing

    book = load_book()
    connection = open_ledger(home.ledger)
    try:
        outing = outing_of(connection, home.settings, wish, today)
        posed = problem_of(connection, outing)
        walk = solved(outing, posed, book_version=book.version, clock=clock, tell=tell)
        if not (walk.result.legs or walk.result.gathered):
            raise nothing_to_walk_for(outing, posed.problem)
        with writing(connection):
            return keep(connection, wish, walk, book_version=book.version, today=today)
    finally:
        connection.close()


def nothing_to_walk_for(outing: Outing, problem: WalkProblem) -> NoAnswer:
    """Why no walk is worth a step: nothing stands there, nothing may be taken, or time is too short."""
    ground, day = outing.ground, outing.wish.day
    if not (ground.trees or ground.patches or ground.spots):
        return NoAnswer(
            f"no host tree and no spot is on record at {ground.place.name}, so there is nothing to walk for",
            remedy="load an inventory: underoak load trees FILE; or mark spots: underoak load places FILE",
        )
    if problem.kitchen_kg <= 0.0:
        return NoAnswer(
            f"the kitchen can keep nothing more on the evening of {day}, so nothing is planned to be picked",
            remedy="choose another day, or put up first what is in the house",
        )
    if problem.carry_kg <= 0.0:
        return NoAnswer(
            "nobody of the party carries anything home", remedy="change carries_kg in underoak.toml"
        )
    if not any(prize.kg > 0.0 for prize in problem.prizes):
        return NoAnswer(
            f"nothing is expected along the trails of {ground.place.name} on {day}",
            remedy="choose another day or wood, or ask for other mushrooms",
        )
    return NoAnswer(
        f"nothing worth a stop can be reached from {ground.car_park.name} and left again in "
        f"{problem.minutes:.0f} minutes",
        remedy="allow more time, or park nearer",
    )


def keep(
    connection: Ledger, wish: WalkWish, walk: PlannedWalk, *, book_version: str, today: date
) -> PlannedWalk:
    """Store a walk as an answer with what was asked and its prizes; the walk with the answer's id."""
    from underoak.desk.kept_prizes import leg_rows, rows_of
    from underoak.ledger.answers import store_answer

    answer_id = store_answer(
        connection,
        "walk",
        made_on=today,
        for_day=wish.day,
        book_version=book_version,
        inputs=_inputs(wish)
        | {
            "ground_mark": walk.ground_mark,
            "taxon_ids": walk.taxon_ids,
            "prizes": rows_of(walk.problem.prizes),
            "legs": leg_rows(walk.result),
        },
        document=walk.plan,
    )
    return replace(walk, plan=replace(walk.plan, answer_id=answer_id))


def _inputs(wish: WalkWish) -> dict[str, object]:
    asked = ("hours", "place", "car_park", "party", "taxa", "goal", "seed", "seconds", "rounds")
    names = (*asked, "must_see", "avoid", "no_go")
    return {"leaves": wish.leaves.isoformat()} | {name: getattr(wish, name) for name in names}


def outing_of(
    connection: Ledger, settings: Settings, wish: WalkWish, today: date, ground: WalkGround | None = None
) -> Outing:
    """Names become records and hours become moments; raises what `plan_walk` does.

    ``ground`` is that of the wish's place and car park, where it was already read.
    """
    from underoak.walk.permission import gather_rule

    if wish.day < today:
        raise UserMistake(f"{wish.day} has gone by", where="--day", expected=f"{today} or later")
    party = party_of(settings, wish.party)
    if all(person.child for person in party):
        raise UserMistake("only children would walk", where="--party", expected="somebody grown-up with them")
    ground = ground or walk_ground(connection, place=wish.place, car_park=wish.car_park)
    if not reaches(ground):
        raise NoAnswer(
            f"no open trail leads from {ground.car_park.name} to anything known in {ground.place.name}",
            where="--from",
            remedy="choose another car park, or look at the map for a gap between the trails",
        )
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
