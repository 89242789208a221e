"""The record of a planned walk that is shown, printed and kept."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from underoak.desk.walk_ground import WalkGround
from underoak.desk.walk_time import WalkTime

if TYPE_CHECKING:
    from underoak.model.ground import LonLat
    from underoak.model.household import Person, Settings
    from underoak.walk.permission import GatherRule
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import WalkResult
    from underoak.walk.robust import Goal, Promise
    from underoak.walk.turns import Turn

#: Speed of the few steps between car park and trail [m/min]: 3 km/h.
STEPS_M_MIN = 50.0


@dataclass(frozen=True, slots=True)
class WalkWish:
    """What people ask for. Empty ``party`` is the whole household, empty ``taxa`` everything gathered.

    ``must_see`` names spots, ``avoid`` spots and trails; ``no_go`` are polygons where nobody walks.
    """

    day: date
    hours: float = 3.0
    leaves: time = time(9, 0)
    place: str | None = None
    car_park: str | None = None
    party: tuple[str, ...] = ()
    taxa: tuple[str, ...] = ()
    goal: Goal = "expected"
    seed: int = 0
    seconds: float = 20.0
    rounds: int = 200
    must_see: tuple[str, ...] = ()
    avoid: tuple[str, ...] = ()
    no_go: tuple[tuple[tuple[LonLat, ...], ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Outing:
    """Who goes where and when, under which permission; ``today`` is the day of asking."""

    wish: WalkWish
    today: date
    settings: Settings
    ground: WalkGround
    party: tuple[Person, ...]
    when: WalkTime
    rule: GatherRule

    @property
    def gap_min(self) -> float:
        """Minutes from the car park to the first trail."""
        return self.ground.start_gap_m / STEPS_M_MIN


@dataclass(frozen=True, slots=True)
class TurnLine:
    """One turn with its clock time and what is expected until the next.

    ``spots`` are the spots to look at, and the trees to leave the trail for with the metres to them.
    """

    turn: Turn
    at: str
    kg: float
    spots: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HomeLine:
    """For the pack: from where a turn begins, the minutes straight to the car and the latest moment."""

    turn: int
    minutes: float
    leave_by: str


@dataclass(frozen=True, slots=True)
class WalkPlan:
    """The answer to show. ``kg`` and ``bound_kg`` are 0 on a scouting walk, where nothing is gathered.

    ``sets_out`` is filled where the walk does not begin at the car park; ``prizes_mark`` tells whether
    the positions of prizes in the turns still hold for a later plan; ``kitchen_kg`` is what the kitchen
    takes that evening, None where nothing limits it. ``straight_home`` is true where only the quickest
    way to the car is left; ``quality`` then says why.
    """

    day: date
    place: str
    car_park: str
    party: tuple[str, ...]
    gathering: bool
    permission: str
    ask: str
    leaves_at: datetime
    back_at: datetime
    turn_back_at: datetime
    sunset_at: datetime | None
    minutes: float
    length_m: float
    climb_m: float
    kg: float
    bound_kg: float
    gap: float
    proved: bool
    quality: str
    turns: tuple[TurnLine, ...]
    left_out: tuple[str, ...]
    goal: Goal
    promises: tuple[Promise, ...]
    ways_home: tuple[HomeLine, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    book_version: str
    answer_id: str = ""
    sets_out: str = ""
    prizes_mark: str = ""
    kitchen_kg: float | None = None
    straight_home: bool = False


@dataclass(frozen=True, slots=True)
class PlannedWalk:
    """The plan with everything the sheets draw from, the mark of its ground, and what it looks for.

    ``result`` is timed with the growing basket; ``pace`` is the speed with the whole of it, as a share of
    the speed that the problem's minutes hold for.
    """

    plan: WalkPlan
    ground: WalkGround
    problem: WalkProblem
    result: WalkResult
    ground_mark: str = ""
    pace: float = 1.0
    taxon_ids: tuple[str, ...] = ()


def plan_of(
    outing: Outing,
    problem: WalkProblem,
    result: WalkResult,
    *,
    pace: float = 1.0,
    promises: tuple[Promise, ...],
    notes: tuple[str, ...],
    book_version: str,
) -> WalkPlan:
    """The plan to show: clock times, turns, figures, cautions; without grams where nothing is gathered.

    ``result`` is timed with the growing basket; ways straight home are walked at ``pace``, with all of it.
    """
    from underoak.desk.walk_looks import looks_of
    from underoak.sheets.wording import SCOUTING_ONLY, WALK_CAUTIONS
    from underoak.walk.turns import turns_of

    wish, ground, when, rule = outing.wish, outing.ground, outing.when, outing.rule
    kept = 1.0 if rule.allowed else 0.0
    leave = when.leaves_at + timedelta(minutes=outing.gap_min)
    ask = f"; ask {rule.ask}" if rule.ask else "; find out who looks after these woods, and ask"
    turns = turns_of(ground.network, result)
    looks = looks_of(ground, problem, result, turns)
    homes = _home_lines(outing, problem, result, turns, pace)
    way_back = max((line.minutes for line in homes), default=outing.gap_min)
    dusk = (f"Daylight cuts the walk: back by {when.back_by:%H:%M}.",) if when.cut_by_dusk else ()
    return WalkPlan(
        day=wish.day,
        place=ground.place.name,
        car_park=ground.car_park.name,
        party=tuple(person.name for person in outing.party),
        gathering=rule.allowed,
        permission=rule.reason,
        ask=rule.ask,
        leaves_at=when.leaves_at,
        back_at=leave + timedelta(minutes=result.minutes + outing.gap_min),
        turn_back_at=when.back_by - timedelta(minutes=way_back),
        sunset_at=when.sunset_at,
        minutes=result.minutes,
        length_m=sum(ground.network.edges[leg.edge].length_m for leg in result.legs),
        climb_m=_climb_m(ground, result),
        kg=kept * result.kg,
        bound_kg=kept * result.bound_kg,
        gap=result.gap,
        proved=result.proved,
        quality=quality_words(result, wish.goal, gathering=rule.allowed),
        turns=tuple(_line(turn, seen, problem, leave, kept) for turn, seen in zip(turns, looks, strict=True)),
        left_out=tuple(one.words for one in result.left_out) if rule.allowed else (),
        goal=wish.goal,
        promises=promises if rule.allowed and result.legs else (),
        ways_home=homes,
        notes=(*dusk, *notes),
        cautions=(
            *(
                ()
                if rule.allowed
                else (SCOUTING_ONLY.format(reason=rule.reason[:1].upper() + rule.reason[1:], ask=ask),)
            ),
            *WALK_CAUTIONS,
        ),
        book_version=book_version,
    )


def quality_words(result: WalkResult, goal: Goal, *, gathering: bool) -> str:
    """One sentence on how good the walk is among all that keep to the limits."""
    if not result.legs:
        return "There is nothing to walk for within these limits."
    if not gathering:
        return "A walk to look, led past what promises most in the time."
    if goal == "something":
        return "Chosen to bring home at least something; see what other walks may bring."
    if goal == "poor_day":
        return "The best poor day of the few walks tried, not proved; see what other walks may bring."
    if result.proved:
        return "Proved best: no other walk within these limits promises more."
    if math.isinf(result.bound_kg):
        return "The best walk found; how much better another could be was not worked out."
    most = f"{result.bound_kg:.2f} kg"
    return f"No walk within these limits promises more than {most}: within {100 * result.gap:.1f} %."


def _line(turn: Turn, looks: tuple[str, ...], problem: WalkProblem, leave: datetime, kept: float) -> TurnLine:
    at = leave + timedelta(minutes=turn.begins_min)
    kg = kept * sum(problem.prizes[p].kg for p in turn.prizes)
    spots = tuple(problem.prizes[p].name for p in turn.prizes if problem.prizes[p].name)
    return TurnLine(turn, f"{at:%H:%M}", kg, (*spots, *looks))


def _home_lines(
    outing: Outing, problem: WalkProblem, result: WalkResult, turns: tuple[Turn, ...], pace: float
) -> tuple[HomeLine, ...]:
    """The way straight back from where each turn begins. **Fails towards** early: with the full basket."""
    from underoak.walk.replan import ways_home

    network = outing.ground.network
    at = {(n.longitude_deg, n.latitude_deg): k for k, n in enumerate(network.nodes)}
    home = {way.node: way.minutes for way in ways_home(problem, result)}
    lines = []
    for turn in turns:
        minutes = home[at[turn.longitude_deg, turn.latitude_deg]] / pace + outing.gap_min
        latest = outing.when.back_by - timedelta(minutes=minutes)
        lines.append(HomeLine(turn.number, minutes, f"{latest:%H:%M}"))
    return tuple(lines)


def _climb_m(ground: WalkGround, result: WalkResult) -> float:
    climb = 0.0
    for leg in result.legs:
        heights = [h for _, h in ground.network.edges[leg.edge].profile]
        steps = [b - a if leg.forward else a - b for a, b in pairwise(heights)]
        climb += sum(max(step, 0.0) for step in steps)
    return climb
