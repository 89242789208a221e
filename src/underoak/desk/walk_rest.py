"""On the way: the best rest of a walk from where the party stands, and always a way home."""

from __future__ import annotations

import math
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from underoak.desk.plan_walk import party_of
from underoak.desk.solve_walk import carriers_of, mark_of
from underoak.desk.walk_ground import walk_ground
from underoak.desk.walk_plan import STEPS_M_MIN, Outing, PlannedWalk, WalkWish, plan_of
from underoak.desk.walk_problem import DAY_PACK_KG, problem_of
from underoak.desk.walk_time import WalkTime, walk_time
from underoak.errors import NoAnswer, UserMistake

if TYPE_CHECKING:
    from underoak.ledger.answers import GivenAnswer
    from underoak.ledger.connection import Ledger
    from underoak.settings import Home
    from underoak.walk.growing_load import Carrier
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import Leg, WalkResult

#: The whole answer is given in this time [s]; the search takes what reading and drawing leave of it.
WITHIN_S = 1.6
#: Even on a slow machine the search gets this long [s].
LEAST_SEARCH_S = 0.3
#: How good a rest of a walk is that was not proved: the bound of so short a search says nothing.
FOUND_IN_A_MOMENT = "The best rest found in a moment; how much better another could be was not worked out."


@dataclass(frozen=True, slots=True)
class OnTheWay:
    """Where the party stands, what the time is, how long it has, what the bag holds.

    ``done`` is how many turns of the plan kept for that day have been walked.
    """

    longitude_deg: float
    latitude_deg: float
    at: time
    minutes_left: float
    bag_kg: float = 0.0
    done: int = 0


def plan_rest(
    home: Home, wish: WalkWish, here: OnTheWay, *, today: date, clock: Callable[[], float] = lambda: 0.0
) -> PlannedWalk:
    """The best rest of a walk, in under two seconds with a clock; nothing is stored.

    When the time does not suffice, or it is dark, the straight way to the car.

    Raises
    ------
    UserMistake   for a position, weight or number of turns that cannot be, and as `plan_walk` does
    NoAnswer      when no open trail leads from there to the car

    **Fails towards** the car: whenever a rest of the walk is in doubt, the straight way home is given.
    """
    from underoak.book.load import book_version
    from underoak.desk.kept_prizes import legs_kept
    from underoak.ledger.database import open_ledger

    began = clock()
    _check(here)
    connection = open_ledger(home.ledger)
    try:
        outing, dark = _outing(connection, home, wish, here, today)
        kept = _kept(connection, outing)
        last = kept.document if kept else {}
        room = last.get("kitchen_kg")
        known = None if room is None else (room, f"The kitchen takes {room:.1f} kg, as planned before.")
        posed = problem_of(connection, outing, room=known, kept=kept)
        whole = posed.problem
        seen, seen_note = _seen(outing, last, whole, here.done)
        planned = legs_kept(kept, posed.ground_mark, here.done)
    finally:
        connection.close()
    problem, to_trail_min = _from_here(outing, whole, here, seen)
    spent = clock() - began
    carriers = _laden(carriers_of(outing), here.bag_kg)
    result, straight = _best(
        outing, problem, carriers, planned,
        dark=dark, seconds=max(WITHIN_S - spent, LEAST_SEARCH_S), clock=clock,
    )  # fmt: skip
    return _told(
        outing, problem, result, carriers, to_trail_min=to_trail_min, seen=seen, straight=straight,
        notes=(*seen_note, *posed.notes), book_version=book_version(),
    )  # fmt: skip


def _check(here: OnTheWay) -> None:
    if not (abs(here.longitude_deg) <= 180.0 and abs(here.latitude_deg) <= 90.0):
        raise UserMistake(
            f"there is no place at {here.longitude_deg:g} {here.latitude_deg:g}",
            where="--here",
            expected="longitude and latitude in degrees",
        )
    if not (0.0 < here.minutes_left <= 960.0):
        raise UserMistake(f"{here.minutes_left:g} minutes", where="--left", expected="above 0, at most 960")
    if not (0.0 <= here.bag_kg < math.inf):
        raise UserMistake(f"{here.bag_kg:g} kg", where="--bag", expected="0 or more")
    if here.done < 0:
        raise UserMistake(f"{here.done} turns", where="--done", expected="0 or more")


def _outing(
    connection: Ledger, home: Home, wish: WalkWish, here: OnTheWay, today: date
) -> tuple[Outing, bool]:
    """The outing from now on, and whether it is too dark for anything but going home."""
    from underoak.walk.permission import gather_rule

    party = party_of(home.settings, wish.party)
    ground = walk_ground(connection, place=wish.place, car_park=wish.car_park)
    zone = home.settings.where.timezone
    dark = False
    try:
        when = walk_time(
            wish.day, leaves=here.at, hours=here.minutes_left / 60.0, timezone=zone,
            latitude_deg=ground.car_park.latitude_deg, longitude_deg=ground.car_park.longitude_deg,
        )  # fmt: skip
    except NoAnswer:
        now = datetime.combine(wish.day, here.at, tzinfo=ZoneInfo(zone))
        back_by = now + timedelta(minutes=here.minutes_left)
        when, dark = WalkTime(now, back_by, None, here.minutes_left, cut_by_dusk=False), True
    rule = gather_rule(ground.place.permission, wish.day, len(party))
    return Outing(wish, today, home.settings, ground, party, when, rule), dark


def _kept(connection: Ledger, outing: Outing) -> GivenAnswer | None:
    """The last plan kept for that day and place, None where there is none."""
    from underoak.ledger.answers import given_answers

    day, place = outing.wish.day, outing.ground.place.name
    given = given_answers(connection, "walk", since=day, until=day)
    kept = [one for one in given if one.document["place"] == place]
    return kept[-1] if kept else None


def _seen(
    outing: Outing, last: dict[str, Any], whole: WalkProblem, done: int
) -> tuple[frozenset[int], tuple[str, ...]]:
    """Prizes passed in the first ``done`` turns of the last plan."""
    if done == 0:
        return frozenset(), ("Stretches walked today count again: say --done with the last turn walked.",)
    if not last:
        raise UserMistake(
            f"no walk at {outing.ground.place.name} is kept for {outing.wish.day}",
            where="--done",
            expected="0",
        )
    if done > len(last["turns"]):
        raise UserMistake(
            f"the plan has {len(last['turns'])} turns", where="--done", expected="no more than that"
        )
    if last.get("prizes_mark") != mark_of(whole):
        note = "The plan was made with other wishes or an older ledger: what was passed counts again."
        return frozenset(), (note,)
    return frozenset(p for turn in last["turns"][:done] for p in turn["turn"]["prizes"]), ()


def _from_here(
    outing: Outing, whole: WalkProblem, here: OnTheWay, seen: frozenset[int]
) -> tuple[WalkProblem, float]:
    """The problem left from the nearest junction that leads to the car, and the minutes to get there."""
    import numpy as np

    from underoak.walk.closure import arcs_of, shortest_ways
    from underoak.walk.replan import Whereabouts, rest_problem
    from underoak.woods.geodesy import distance_m
    from underoak.woods.network_report import FARTHEST_START_M

    nodes = outing.ground.network.nodes
    ways = shortest_ways(whole.graph.nodes, arcs_of(whole.graph)).minutes[:, whole.finish]
    gaps = distance_m(
        np.array([n.longitude_deg for n in nodes]), np.array([n.latitude_deg for n in nodes]),
        here.longitude_deg, here.latitude_deg,
    )  # fmt: skip
    gaps = np.where(np.isfinite(ways), gaps, np.inf)
    node = int(np.argmin(gaps))
    if gaps[node] > FARTHEST_START_M:
        raise NoAnswer(
            f"the nearest junction from which a trail leads to {outing.ground.car_park.name} is "
            f"{gaps[node] / 1000.0:.1f} km away",
            where="--here",
            remedy="longitude comes first; if you are lost, stay there and call for help",
        )
    to_trail_min = float(gaps[node]) / STEPS_M_MIN
    left = outing.when.minutes - to_trail_min - outing.gap_min
    whereabouts = Whereabouts(node, max(left, 0.0), seen, (here.bag_kg,))
    return rest_problem(whole, whereabouts), to_trail_min


def _best(
    outing: Outing,
    problem: WalkProblem,
    carriers: tuple[Carrier, ...],
    planned: tuple[Leg, ...],
    *,
    dark: bool,
    seconds: float,
    clock: Callable[[], float],
) -> tuple[WalkResult, str]:
    """The rest of the walk, no less than is left of the plan; the straight way where it must be, and why."""
    from underoak.walk.growing_load import IN_TIME, loaded_minutes, solve_loaded
    from underoak.walk.replan import ON_THE_WAY, better_rest, rest_of_plan, straight_home
    from underoak.walk.shortest_enough import shortest_enough
    from underoak.walk.solve import solve

    seed = outing.wish.seed

    def search(one: WalkProblem, share: float, enough_kg: float = math.inf) -> WalkResult:
        effort = replace(ON_THE_WAY, seconds=share * seconds, enough_kg=enough_kg)
        return solve(one, seed=seed, effort=effort, clock=clock)

    def first(one: WalkProblem) -> WalkResult:
        return shortest_enough(one, search(one, 0.5), lambda p, kg: search(p, 0.06, kg), tries=3)

    def in_time(walk: WalkResult) -> bool:
        minutes = loaded_minutes(problem, walk, carriers, DAY_PACK_KG)
        return minutes <= problem.minutes + IN_TIME

    words = "It is dark: put on your lights and go straight to the car."
    if not dark:
        kept = rest_of_plan(problem, planned, in_time)
        with suppress(NoAnswer):
            found, _ = solve_loaded(problem, carriers, DAY_PACK_KG, first, lambda one: search(one, 0.05))
            kept = better_rest(found, kept) if in_time(found) else kept
        if kept is not None:
            return kept, ""
        words = "The time is only enough for the straight way to the car."
    result = straight_home(problem)
    late = loaded_minutes(problem, result, carriers, DAY_PACK_KG) - problem.minutes
    if late > 0.5:
        words = f"Even straight to the car you come {late:.0f} minutes late: tell those who wait for you."
    return result, words


def _laden(carriers: tuple[Carrier, ...], bag_kg: float) -> tuple[Carrier, ...]:
    """The carriers with what the bag holds already shared out among them."""
    able = sum(one.carries_kg for one in carriers)
    if able <= 0.0:
        return carriers
    return tuple(replace(one, pack_kg=one.pack_kg + bag_kg * one.carries_kg / able) for one in carriers)


def _told(
    outing: Outing, problem: WalkProblem, result: WalkResult, carriers: tuple[Carrier, ...], *,
    to_trail_min: float, seen: frozenset[int], straight: str, notes: tuple[str, ...], book_version: str,
) -> PlannedWalk:  # fmt: skip
    from underoak.walk.growing_load import loaded, pace_share
    from underoak.walk.left_out import left_out

    timed = loaded(problem, result, carriers, DAY_PACK_KG)
    missed = left_out(problem, result, problem.minutes - timed.minutes)
    timed = replace(timed, left_out=tuple(one for one in missed if one.prize not in seen))
    pace = pace_share(carriers, result.kg, DAY_PACK_KG)
    shift = timedelta(minutes=to_trail_min - outing.gap_min)
    moved = replace(outing, when=replace(outing.when, leaves_at=outing.when.leaves_at + shift))
    plan = plan_of(moved, problem, timed, pace=pace, promises=(), notes=notes, book_version=book_version)
    quality = straight or (plan.quality if result.proved else FOUND_IN_A_MOMENT)
    missed_words = () if straight else plan.left_out
    plan = replace(
        plan, leaves_at=outing.when.leaves_at, sets_out="where you are", quality=quality,
        left_out=missed_words, straight_home=bool(straight),
    )  # fmt: skip
    return PlannedWalk(plan, outing.ground, problem, timed, pace=pace)
