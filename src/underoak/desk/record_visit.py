"""Write down a day out, also one that found nothing."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from underoak.book.load import load_book
from underoak.errors import BadData, UserMistake
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.places import places, spots
from underoak.ledger.visits import store_visits
from underoak.model.ground import Place, Spot
from underoak.model.problem import Problem
from underoak.model.visits import Find, FlushStage, Search, Visit
from underoak.review.noted import FACTS_EXPECTED, noted
from underoak.settings import Home

#: What a look is worth when nothing is said: a look around the spot.
USUAL_THOROUGHNESS = 0.6


@dataclass(frozen=True, slots=True)
class FindNote:
    """One find as a person writes it down; names are matched here.

    ``note`` may mark facts that the review reads, such as ``side: NE; shade: deep; colour: brown``.
    """

    spot: str
    taxon: str
    stage: FlushStage
    fresh_g: float | None = None
    bodies: int | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class VisitNote:
    """A day out as a person writes it down. ``searched`` maps spot names to thoroughness, 0 to 1."""

    day: date
    place: str
    searched: Sequence[tuple[str, float]] = ()
    finds: Sequence[FindNote] = ()
    minutes: float | None = None
    people: Sequence[str] = ()
    note: str = ""


def record_visit(home: Home, note: VisitNote, *, today: date) -> Visit:
    """Store the visit and hand back the record.

    A spot with a find counts as searched, even if it was not named so.

    Raises
    ------
    UserMistake   for a place that is not known
    BadData       for every other fault of the note, all at once; nothing is stored
    """
    connection = open_ledger(home.ledger)
    try:
        place = _named_place(places(connection), note.place)
        known = {spot.name.casefold(): spot for spot in spots(connection) if spot.place_id == place.id}
        visit = _visit(note, place, known, today)
        with writing(connection):
            store_visits(connection, [visit])
    finally:
        connection.close()
    return visit


def _named_place(known: Sequence[Place], name: str) -> Place:
    fitting = [place for place in known if place.name.casefold() == name.casefold()]
    if len(fitting) == 1:
        return fitting[0]
    if fitting:
        raise UserMistake(
            f"{len(fitting)} places are called {name!r}", remedy="rename one of them and load it again"
        )
    raise UserMistake(
        f"no place is called {name!r}",
        expected="one of " + ", ".join(place.name for place in known) if known else "a loaded place",
        remedy="load its outline with 'underoak load places'",
    )


def _visit(note: VisitNote, place: Place, known: dict[str, Spot], today: date) -> Visit:
    problems: list[Problem] = []
    if note.day > today:
        problems.append(Problem(f"{note.day} lies ahead", "day", f"a day up to {today}", "check the year"))
    if note.minutes is not None and note.minutes < 0:
        problems.append(Problem(f"{note.minutes:g} minutes", "minutes", "0 or more"))
    searches = _searches(note, place, known, problems)
    visit_id = f"visit-{uuid.uuid4().hex[:12]}"
    finds = tuple(
        found
        for number, find in enumerate(note.finds, start=1)
        if (found := _find(find, f"find {number}", f"{visit_id}-{number}", known, problems))
    )
    if problems:
        raise BadData(problems)
    return Visit(
        id=visit_id,
        day=note.day,
        place_id=place.id,
        minutes=note.minutes,
        people=tuple(note.people),
        searches=searches,
        finds=finds,
        note=note.note,
    )


def _searches(
    note: VisitNote, place: Place, known: dict[str, Spot], problems: list[Problem]
) -> tuple[Search, ...]:
    found_at = [(find.spot, USUAL_THOROUGHNESS) for find in note.finds]
    searches: dict[str, Search] = {}
    for name, thoroughness in [*note.searched, *found_at]:
        spot = known.get(name.casefold())
        if spot is None:
            problems.append(
                Problem(
                    f"no spot of {place.name} is called {name!r}", "spot", "a known spot", "load it first"
                )
            )
        elif not 0.0 <= thoroughness <= 1.0:
            problems.append(Problem(f"thoroughness {thoroughness:g} at {name}", "spot", "0 to 1"))
        else:
            searches.setdefault(spot.id, Search(spot.id, thoroughness))
    return tuple(searches.values())


def _find(
    find: FindNote, where: str, find_id: str, known: dict[str, Spot], problems: list[Problem]
) -> Find | None:
    before = len(problems)
    taxon_id = ""
    try:
        taxon_id = load_book().find(find.taxon).id
    except UserMistake as mistake:
        problems.append(
            Problem(mistake.problem.what, where, mistake.problem.expected, mistake.problem.remedy)
        )
    if find.fresh_g is not None and not 0.0 < find.fresh_g < 100_000.0:
        problems.append(Problem(f"{find.fresh_g:g} g", where, "more than 0 and less than 100 kg"))
    if find.bodies is not None and find.bodies < 1:
        problems.append(Problem(f"{find.bodies} bodies", where, "1 or more"))
    problems += [Problem(f"{fact!r} says nothing", where, FACTS_EXPECTED) for fact in noted(find.note).unread]
    spot = known.get(find.spot.casefold())
    if spot is None or len(problems) > before:
        return None
    return Find(find_id, spot.id, taxon_id, find.stage, find.bodies, find.fresh_g, find.note)
