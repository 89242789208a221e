"""Which way to go, given a day, hours, party, car park and appetite."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

from underoak.desk.walk_ground import walk_ground
from underoak.desk.walk_plan import Outing, PlannedWalk, WalkWish, plan_of
from underoak.desk.walk_problem import DAY_PACK_KG, problem_of
from underoak.desk.walk_time import walk_time
from underoak.errors import UserMistake

if TYPE_CHECKING:
    from underoak.book.load import Book
    from underoak.desk.walk_ground import WalkGround
    from underoak.ledger.connection import Ledger
    from underoak.model.household import Person, Settings
    from underoak.settings import Home
    from underoak.walk.growing_load import Carrier
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import WalkResult
    from underoak.walk.robust import Promise
    from underoak.walk.solve import Effort

#: Body mass taken for an adult and a child [kg]. Common practice, no source.
ADULT_KG, CHILD_KG = 70.0, 35.0
#: Branches of the proof where no clock decides.
STEADY_NODES = 20


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
    from underoak.ledger.database import open_ledger, writing

    book = load_book()
    connection = open_ledger(home.ledger)
    try:
        walk = _planned(connection, outing_of(connection, home.settings, wish, today), book, clock, tell)
        with writing(connection):
            return keep(connection, wish, walk, book_version=book.version, today=today)
    finally:
        connection.close()


def keep(
    connection: Ledger, wish: WalkWish, walk: PlannedWalk, *, book_version: str, today: date
) -> PlannedWalk:
    """Store a walk as an answer with what was asked; the walk with the answer's id."""
    from underoak.ledger.answers import store_answer

    answer_id = store_answer(
        connection,
        "walk",
        made_on=today,
        for_day=wish.day,
        book_version=book_version,
        inputs=_inputs(wish),
        document=walk.plan,
    )
    return replace(walk, plan=replace(walk.plan, answer_id=answer_id))


def _inputs(wish: WalkWish) -> dict[str, object]:
    asked = ("hours", "place", "car_park", "party", "taxa", "goal", "seed", "seconds", "rounds")
    names = (*asked, "must_see", "avoid", "no_go")
    return {"leaves": wish.leaves.isoformat()} | {name: getattr(wish, name) for name in names}


def mark_of(problem: WalkProblem) -> str:
    """A mark of where every prize lies: the same mark, the same positions."""
    told = "|".join(f"{p.edge},{p.node},{p.key}" for p in problem.prizes)
    return hashlib.sha256(told.encode()).hexdigest()[:16]


def outing_of(
    connection: Ledger, settings: Settings, wish: WalkWish, today: date, ground: WalkGround | None = None
) -> Outing:
    """Names become records and hours become moments; raises what `plan_walk` does.

    ``ground`` is that of the wish's place and car park, where it was already read.
    """
    from underoak.walk.permission import gather_rule

    party = party_of(settings, wish.party)
    ground = ground or walk_ground(connection, place=wish.place, car_park=wish.car_park)
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
    connection: Ledger,
    outing: Outing,
    book: Book,
    clock: Callable[[], float],
    tell: Callable[[Any], None],
) -> PlannedWalk:
    problem, notes = problem_of(connection, outing, book)
    return solved(outing, problem, notes, book_version=book.version, clock=clock, tell=tell)


def solved(
    outing: Outing,
    problem: WalkProblem,
    notes: tuple[str, ...],
    *,
    book_version: str,
    clock: Callable[[], float],
    tell: Callable[[Any], None],
) -> PlannedWalk:
    """The planned walk of a problem: solved for its goal, in time with its growing basket, explained."""
    from underoak.walk.growing_load import loaded_minutes, solve_loaded
    from underoak.walk.left_out import left_out
    from underoak.walk.robust import choose
    from underoak.walk.solve import solve

    wish, carriers = outing.wish, carriers_of(outing)
    parts = 1 if wish.goal == "expected" else 3

    def solver(one: WalkProblem) -> WalkResult:
        return solve(one, seed=wish.seed, effort=_effort(wish, parts), clock=clock, tell=tell)

    def shorter(one: WalkProblem) -> WalkResult:
        return solve(one, seed=wish.seed, effort=replace(_effort(wish, 10), prove=False), clock=clock)

    promises: tuple[Promise, ...] = ()
    if not outing.rule.allowed:
        result = solver(problem)
        minutes = result.minutes
    elif wish.goal == "expected":
        result, minutes = solve_loaded(problem, carriers, DAY_PACK_KG, solver, shorter)
        promises = _promises(problem, result, wish.seed, shorter)
    else:
        result, promises = choose(problem, wish.goal, solver, seed=wish.seed)
        minutes = loaded_minutes(problem, result, carriers, DAY_PACK_KG)
        if minutes > problem.minutes:
            cut = replace(problem, minutes=problem.minutes - 1.5 * (minutes - problem.minutes))
            result, promises = choose(cut, wish.goal, shorter, seed=wish.seed)
            result = replace(result, bound_kg=math.inf, gap=1.0, proved=False)
            minutes = loaded_minutes(problem, result, carriers, DAY_PACK_KG)
    result = replace(result, left_out=left_out(problem, result))
    plan = plan_of(
        outing, problem, result, minutes=minutes, promises=promises, notes=notes, book_version=book_version
    )
    room = problem.kitchen_kg if math.isfinite(problem.kitchen_kg) else None
    plan = replace(plan, prizes_mark=mark_of(problem), kitchen_kg=room)
    return PlannedWalk(plan, outing.ground, problem, result)


def _promises(
    problem: WalkProblem, result: WalkResult, seed: int, solver: Callable[[WalkProblem], WalkResult]
) -> tuple[Promise, ...]:
    """What the walk may bring, beside the walks of the other two goals, which are only searched."""
    from underoak.walk.robust import Goal, promise, towards

    others: tuple[Goal, ...] = ("something", "poor_day")
    beside = (promise(problem, solver(towards(problem, goal)), goal, seed=seed) for goal in others)
    return (promise(problem, result, "expected", seed=seed), *beside)


def carriers_of(outing: Outing) -> tuple[Carrier, ...]:
    """The party as carriers: adults with a day pack, children with none."""
    from underoak.walk.growing_load import Carrier

    return tuple(
        Carrier(
            0.0 if person.child else DAY_PACK_KG, person.carries_kg, CHILD_KG if person.child else ADULT_KG
        )
        for person in outing.party
    )


def _effort(wish: WalkWish, parts: int) -> Effort:
    """As many rounds as the seconds allow, shared among ``parts``; without seconds a fixed number.

    Without seconds no clock decides, and the same ground gives the same walk on every computer.
    """
    from underoak.walk.solve import Effort

    if math.isinf(wish.seconds):
        return Effort(rounds=wish.rounds, nodes=STEADY_NODES)
    return Effort(rounds=1_000_000, seconds=wish.seconds / parts)


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
