"""The problem of one outing: graph, prizes and every limit, with notes on what it stands on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from underoak.errors import UnderoakError

if TYPE_CHECKING:
    from underoak.book.load import Book
    from underoak.desk.walk_plan import Outing
    from underoak.ledger.connection import Ledger
    from underoak.model.household import Kitchen
    from underoak.walk.problem import WalkProblem

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


def problem_of(
    connection: Ledger, outing: Outing, book: Book, *, room: Room | None = None
) -> tuple[WalkProblem, tuple[str, ...]]:
    """The problem to solve, and notes on what it stands on.

    ``room`` is what the kitchen was found to take on that evening: finding it again takes seconds, and on
    the way nobody has them. On a walk to look the same prizes lead the way,
    but neither bag nor kitchen limits it.

    Raises UserMistake and NoAnswer as `underoak.desk.walk_limits.limits_of` does.
    """
    import numpy as np

    from underoak.desk.place_weather import place_climates
    from underoak.desk.walk_limits import limits_of
    from underoak.desk.walk_prizes import appetite, outlook_inputs, prizes_of, spot_key
    from underoak.walk.problem import WalkGraph, WalkProblem
    from underoak.walk.travel_time import Pace, directed_minutes

    ground, rule = outing.ground, outing.rule
    limits = limits_of(ground, outing.wish)
    share = CHILD_PACE if any(person.child for person in outing.party) else 1.0
    there, back = directed_minutes(ground.network, Pace(party=share, load_kg=DAY_PACK_KG))
    ends = np.array([(edge.start, edge.end) for edge in ground.network.edges], dtype=np.int64)
    climates, note = place_climates(connection, outing.settings.where, [ground.place], today=outing.today)
    found = prizes_of(
        limits.ground,
        appetite(book, outing.wish.taxa),
        outing.wish.day,
        climates=climates,
        inputs=outlook_inputs(connection, outing.today),
        walk_min=np.minimum(there, back),
    )
    prizes = tuple(prize for prize in found if prize.edge < 0 or not limits.closed[prize.edge])
    kitchen_kg, kitchen_note = math.inf, ""
    if rule.allowed:
        kitchen_kg, kitchen_note = room or kitchen_room(connection, outing, book)
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
        must_see=frozenset(
            k for k, prize in enumerate(prizes) if prize.key in {spot_key(one) for one in limits.must_see}
        ),
    )
    told = [*note.notes, *([kitchen_note] if kitchen_note else []), *limits.notes]
    return problem, (*told, *_ground_notes(outing, prizes))


def _ground_notes(outing: Outing, prizes: Sequence[object]) -> tuple[str, ...]:
    from underoak.woods.network_report import report

    ground = outing.ground
    notes = [f"Trails: {line}." for line in report(ground.network).sentences()[:2]]
    if not ground.trees and not ground.patches:
        notes.append("No host tree is on record at this place: load an inventory with 'underoak load trees'.")
    if not prizes:
        notes.append("Nothing is expected along these trails on that day; this is merely the shortest way.")
    if ground.start_gap_m > 25.0:
        notes.append(f"The trail begins {ground.start_gap_m:.0f} m from the car park.")
    return tuple(notes)
