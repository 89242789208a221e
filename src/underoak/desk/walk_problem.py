"""The problem of one outing: graph, prizes and every limit, with notes on what it stands on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from underoak.errors import UnderoakError

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from underoak.book.load import Book
    from underoak.desk.walk_limits import Limits
    from underoak.desk.walk_plan import Outing
    from underoak.desk.walk_prizes import Prizes
    from underoak.ledger.answers import GivenAnswer
    from underoak.ledger.connection import Ledger
    from underoak.model.book import Taxon
    from underoak.model.household import Kitchen
    from underoak.walk.problem import WalkProblem

    FloatArray = npt.NDArray[np.float64]

#: What the kitchen takes on an evening [kg], and a note that says so.
Room = tuple[float, str]
#: Water, clothes, light and food of the most burdened walker [kg]. Common practice, no source.
DAY_PACK_KG = 4.0
#: Share of an adult's speed when a child comes along. Common practice, no source.
CHILD_PACE = 0.7
#: What loosely filled paper bags in the refrigerator hold [kg/l]. Common practice, no source.
FRIDGE_KG_L = 0.1


def kitchen_takes_kg(kitchen: Kitchen) -> float:
    """What an empty kitchen can take in one evening [kg], roughly: dryer, freezer and refrigerator.

    Stated rule: full dryer trays, one day's freezer load (no more than its free room at 0.5 kg/l) and
    paper bags in the refrigerator. Common practice, no source.
    """
    frozen = min(kitchen.freezer_load_kg_day, 0.5 * kitchen.freezer_free_l)
    return kitchen.dryer_trays * kitchen.tray_holds_kg + frozen + FRIDGE_KG_L * kitchen.fridge_free_l


def kitchen_room(connection: Ledger, outing: Outing, book: Book) -> Room:
    """What the kitchen takes on the evening of the walk [kg], and a note that says so.

    By the plan of the kitchen with what already stands there; where that has no answer, roughly.
    """
    from underoak.desk.kitchen_capacity import capacity_tonight
    from underoak.desk.walk_prizes import appetite

    wish, settings = outing.wish, outing.settings
    try:
        room = capacity_tonight(connection, settings, book, wish.day, appetite(book, wish.taxa))
    except (UnderoakError, ValueError, LookupError, ArithmeticError) as error:
        rough = kitchen_takes_kg(settings.kitchen)
        return (
            rough,
            f"The kitchen's evening could not be planned ({error}); roughly it takes {rough:.1f} kg.",
        )
    if room.kg <= 0.0:
        return 0.0, "The kitchen can keep nothing more that evening, so nothing is planned to be picked."
    return room.kg, room.sentence


@dataclass(frozen=True, slots=True, eq=False)
class Posed:
    """A problem to solve, notes on what it stands on, the mark of its ground, and what is looked for.

    ``low_kg`` and ``high_kg`` are the kilograms of each prize with the shortest and the longest likely
    sight; empty where the prizes were kept from an earlier plan.
    """

    problem: WalkProblem
    notes: tuple[str, ...]
    ground_mark: str
    low_kg: tuple[float, ...] = ()
    high_kg: tuple[float, ...] = ()
    taxon_ids: tuple[str, ...] = ()


def problem_of(
    connection: Ledger,
    outing: Outing,
    *,
    room: Room | None = None,
    kept: GivenAnswer | None = None,
) -> Posed:
    """The problem to solve, and what it stands on.

    ``room`` is what the kitchen was found to take on that evening, and ``kept`` an answer of the same day
    whose prizes hold while the ground is the same: finding both again, and reading the book, takes seconds,
    and on the way nobody has them. On a walk to look the same prizes lead the way, but neither bag nor
    kitchen limits it.

    Raises UserMistake and NoAnswer as `underoak.desk.walk_limits.limits_of` does.
    """
    import numpy as np

    from underoak.book.load import book_version, load_book
    from underoak.desk.kept_prizes import ground_mark, prizes_kept, taxa_kept
    from underoak.desk.walk_limits import limits_of
    from underoak.desk.walk_overlap import where_allowed
    from underoak.desk.walk_prizes import Prizes, appetite, spot_key
    from underoak.walk.problem import WalkGraph, WalkProblem
    from underoak.walk.travel_time import Pace, directed_minutes

    ground, rule = outing.ground, outing.rule
    limits = where_allowed(connection, outing, limits_of(ground, outing.wish))
    asked, version = outing.wish.taxa, book_version()
    taxa = taxa_kept(kept, asked, version) or [taxon.id for taxon in appetite(load_book(), asked)]
    share = CHILD_PACE if any(person.child for person in outing.party) else 1.0
    there, back = directed_minutes(ground.network, Pace(party=share, load_kg=DAY_PACK_KG))
    ends = np.array([(edge.start, edge.end) for edge in ground.network.edges], dtype=np.int64)
    walk_min = np.minimum(there, back)
    mark = ground_mark(outing, limits, walk_min, taxa, version)
    known = prizes_kept(kept, mark)
    if known is None:
        found, notes = _expected(connection, outing, limits, appetite(load_book(), asked), walk_min)
    else:
        found, notes = Prizes(known, (), ()), ("What stands along the trails is taken from the day's plan.",)
    prizes = found.prizes
    kitchen_kg, kitchen_note = math.inf, ""
    if rule.allowed:
        kitchen_kg, kitchen_note = room or kitchen_room(connection, outing, load_book())
    must_see = {spot_key(one) for one in limits.must_see}
    problem = WalkProblem(
        WalkGraph(
            len(ground.network.nodes),
            ends[:, 0],
            ends[:, 1],
            np.where(limits.closed, np.inf, there),
            np.where(limits.closed, np.inf, back),
        ),
        prizes,
        ground.start,
        ground.start,
        outing.when.minutes - 2.0 * outing.gap_min,
        carry_kg=sum(person.carries_kg for person in outing.party) if rule.allowed else math.inf,
        kitchen_kg=kitchen_kg,
        place_limit_kg=(rule.limit_kg if rule.allowed else math.inf,),
        must_see=frozenset(k for k, prize in enumerate(prizes) if prize.key in must_see),
    )
    told = (*notes, *([kitchen_note] if kitchen_note else []), *limits.notes, *_ground_notes(outing, prizes))
    return Posed(problem, told, mark, found.low_kg, found.high_kg, tuple(taxa))


def _expected(
    connection: Ledger, outing: Outing, limits: Limits, taxa: Sequence[Taxon], walk_min: FloatArray
) -> tuple[Prizes, tuple[str, ...]]:
    """The prizes of a fresh outlook on open ground, with notes on weather and sight."""
    from underoak.desk.place_weather import place_climates
    from underoak.desk.walk_prizes import outlook_inputs, picked_note, prizes_of
    from underoak.desk.walk_sight import household_sight
    from underoak.ledger.ground import trails
    from underoak.ledger.visits import found_spots

    ground, today = outing.ground, outing.today
    climates, weather = place_climates(connection, outing.settings.where, [ground.place], today=today)
    inputs = outlook_inputs(connection, today)
    found_at = found_spots(connection, today)
    sight, sight_note = household_sight(trails(connection), [s for s in inputs.spots if s.id in found_at])
    found = prizes_of(
        limits.ground, taxa, outing.wish.day, climates=climates, inputs=inputs, walk_min=walk_min, sight=sight
    )
    picked = picked_note(limits.ground.spots, taxa, outing.wish.day, inputs)
    return found.where_open(limits.closed), (*weather.notes, sight_note, *picked)


def _ground_notes(outing: Outing, prizes: Sequence[object]) -> tuple[str, ...]:
    from underoak.woods.network_report import report

    ground = outing.ground
    told = report(ground.network)
    notes = [f"Trails: {told.sentences()[0]}."]
    parts = [part for part in told.components if part.edges]
    if len(parts) > 1:
        own = next(part for part in parts if ground.start in part.nodes)
        notes.append(
            f"The trails around fall into {len(parts)} parts that do not meet; from {ground.car_park.name} "
            f"you reach {own.name}, {own.length_m / 1000:.1f} km of them."
        )
    if not any(height for edge in ground.network.edges for _, height in edge.profile):
        notes.append(
            "No heights are known here: every trail is timed as if it were level. Load a grid: "
            "'underoak load terrain'."
        )
    if not ground.trees and not ground.patches:
        notes.append("No host tree is on record at this place: load an inventory with 'underoak load trees'.")
    if not prizes:
        notes.append("Nothing is expected along these trails on that day; this is merely the shortest way.")
    if ground.passed_over:
        nearer = ", ".join(ground.passed_over)
        notes.append(
            f"You park at {ground.car_park.name}: {nearer} is nearer, but no trail leads from there to "
            "anything known in this wood."
        )
    if ground.start_gap_m > 25.0:
        notes.append(f"The trail begins {ground.start_gap_m:.0f} m from the car park.")
    return tuple(notes)
