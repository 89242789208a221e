"""What can be done on several days: each wood on each day by each car, with the wishes that belong to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from underoak.desk.plan_walk import outing_of, party_of
from underoak.desk.walk_ground import named
from underoak.desk.walk_limits import called, known_here, listed
from underoak.desk.walk_problem import kitchen_room, problem_of
from underoak.errors import NoAnswer, UserMistake
from underoak.model.quantities import counted

if TYPE_CHECKING:
    from underoak.book.load import Book
    from underoak.desk.walk_plan import Outing, WalkWish
    from underoak.desk.walk_problem import Posed, Room
    from underoak.ledger.connection import Ledger
    from underoak.model.ground import Place, Spot
    from underoak.model.household import Settings
    from underoak.walk.problem import WalkProblem
    from underoak.walk.several import Slot


@dataclass(frozen=True, slots=True, eq=False)
class Option:
    """One wood in one slot: the outing, its problem and what that stands on."""

    outing: Outing
    posed: Posed

    def left(self, problem: WalkProblem) -> Posed:
        """What is posed once other walks took their part: what pays no more does so under no sight."""
        paid = [prize.kg > 0.0 for prize in problem.prizes]
        low, high = (
            tuple(kg if open_ else 0.0 for kg, open_ in zip(one, paid, strict=True))
            for one in (self.posed.low_kg, self.posed.high_kg)
        )
        return replace(self.posed, problem=problem, low_kg=low, high_kg=high)


def options_of(
    connection: Ledger,
    settings: Settings,
    book: Book,
    wish: WalkWish,
    *,
    days: Sequence[date],
    slots: Sequence[Slot],
    today: date,
) -> tuple[dict[tuple[Slot, str], Option], tuple[str, ...]]:
    """Every place that can be gone to in each slot, and why the others cannot.

    A spot to see binds the walks to its own wood; a spot or trail to avoid those of every wood that has it.

    Raises
    ------
    UserMistake   for names that are unknown or stand for two, and for spots to see in more woods than
        there are walks
    NoAnswer      when no place can be gone to on any day, or none with a spot that is to be seen
    """
    from underoak.ledger.places import places, spots

    known = places(connection)
    chosen = [named(known, wish.place, "place", "--place")] if wish.place or not known else known
    wanted = _wanted(chosen, spots(connection), wish.must_see, walks=len(slots))
    _check_avoided(connection, chosen, wish.avoid)
    cars = 1 + max(slot.car for slot in slots)
    party = sorted(party_of(settings, wish.party), key=lambda person: person.child)
    options, refused = {}, {}
    rooms: dict[int, Room] = {}
    for place in chosen:
        ground = None
        for slot in slots:
            mine = tuple(person.name for person in party[slot.car :: cars])
            own = replace(wish, day=days[slot.day], place=place.id, party=mine, must_see=(), avoid=())
            try:
                outing = outing_of(connection, settings, own, today, ground)
                ground = outing.ground
                if not outing.rule.allowed:
                    raise NoAnswer(outing.rule.reason)
                outing = _with_wishes(outing, wish, wanted.get(place.id, ()))
                if slot.day not in rooms:
                    rooms[slot.day] = kitchen_room(connection, outing, book)
                posed = problem_of(connection, outing, room=rooms[slot.day])
                options[slot, place.id] = Option(outing, posed)
            except NoAnswer as error:
                refused[place.id, slot.day] = f"{place.name} on {days[slot.day]}: {error.problem.sentence()}"
    _check_any(options, refused, wanted, chosen)
    return options, tuple(refused.values())


def _with_wishes(outing: Outing, wish: WalkWish, must_see: tuple[str, ...]) -> Outing:
    """The outing with those of all wishes that its wood knows."""
    return replace(
        outing, wish=replace(outing.wish, must_see=must_see, avoid=known_here(outing.ground, wish.avoid))
    )


def _wanted(
    chosen: Sequence[Place], spots: Sequence[Spot], names: Sequence[str], *, walks: int
) -> dict[str, tuple[str, ...]]:
    """Ids of the spots to see, by the wood they belong to."""
    here = {place.id: place.name for place in chosen}
    mine = [spot for spot in spots if spot.place_id in here]
    wanted: dict[str, tuple[str, ...]] = {}
    for name in names:
        found = [spot for spot in mine if called(spot, {name.casefold()})]
        if len(found) != 1:
            ids = ", ".join(f"{spot.id} ({here[spot.place_id]})" for spot in found)
            raise UserMistake(
                f"{len(found)} are called {name!r}" if found else f"no spot is called {name!r}",
                where="--must-see",
                expected=f"one id of {ids}" if found else listed([s.name for s in mine], "one of "),
            )
        wanted[found[0].place_id] = (*wanted.get(found[0].place_id, ()), found[0].id)
    if len(wanted) > walks:
        woods = ", ".join(here[place] for place in wanted)
        raise UserMistake(
            f"the spots to see lie in {len(wanted)} woods ({woods}), for {counted(walks, 'walk')}",
            where="--must-see",
            remedy="take more days or cars, or fewer spots",
        )
    return wanted


def _check_avoided(connection: Ledger, chosen: Sequence[Place], names: Sequence[str]) -> None:
    from underoak.ledger.ground import trails
    from underoak.ledger.places import spots

    here = {place.id for place in chosen}
    mine = [spot for spot in spots(connection) if spot.place_id in here]
    ways = {trail.name for trail in trails(connection)}
    known = {name.casefold() for name in ways if name}
    unknown = [
        n for n in names if n.casefold() not in known and not any(called(s, {n.casefold()}) for s in mine)
    ]
    if unknown:
        raise UserMistake(
            f"no spot or trail is called {', '.join(map(repr, unknown))}",
            where="--avoid",
            expected=f"trails {listed(sorted(ways))}; spots {listed([s.name for s in mine])}",
        )


def _check_any(
    options: Mapping[tuple[Slot, str], Option],
    refused: Mapping[tuple[str, int], str],
    wanted: Mapping[str, tuple[str, ...]],
    chosen: Sequence[Place],
) -> None:
    """NoAnswer where nothing is left, or a spot to see lies where nobody can go."""
    open_ = {place for _, place in options}
    for place in chosen:
        if place.id in wanted and place.id not in open_:
            words = "; ".join(words for (one, _), words in refused.items() if one == place.id)
            raise NoAnswer(
                f"a spot to see lies where no walk can be planned: {words}",
                where="--must-see",
                remedy="ask for other days, or take the spot out",
            )
    if not options:
        raise NoAnswer(
            f"no walk can be planned on these days: {'; '.join(refused.values())}",
            remedy="plan a walk to look, one place at a time: it says whom to ask",
        )
