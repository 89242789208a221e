"""The last days out with their finds and what vetting says of each."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from underoak.book.load import Book, load_book
from underoak.errors import UserMistake
from underoak.ledger.database import open_ledger
from underoak.ledger.evidence import FindEvidence, evidence_of, lapsed
from underoak.ledger.photos import Photo, photos
from underoak.ledger.places import places, spots
from underoak.ledger.recent import recent_days
from underoak.ledger.verdicts import StoredVerdict, verdicts_of
from underoak.ledger.visits import find_by_id, visits
from underoak.model.visits import Find, Visit
from underoak.settings import Home

#: Words for a find whose last verdict no longer stands, or that has none.
NOT_VETTED = "not vetted"


@dataclass(frozen=True, slots=True)
class ListedFind:
    """A find in words. ``state`` is its standing verdict's, or "not vetted" with the reason."""

    find: Find
    kind: str
    scientific_name: str
    spot: str
    state: str
    why: str


@dataclass(frozen=True, slots=True)
class ListedVisit:
    """A day out in words; ``empty`` are the spots that were searched and held nothing."""

    visit: Visit
    place: str
    finds: tuple[ListedFind, ...]
    empty: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OneFind:
    """One find with all its verdicts (oldest first) and photos."""

    listed: ListedFind
    visit: Visit
    place: str
    verdicts: tuple[StoredVerdict, ...]
    photos: tuple[Photo, ...]


def list_finds(home: Home, *, today: date, days: int = 8, day: date | None = None) -> tuple[ListedVisit, ...]:
    """The last days out up to ``today``, or one day; latest first."""
    connection = open_ledger(home.ledger)
    try:
        wanted = [day] if day else recent_days(connection, days, today)
        if not wanted:
            return ()
        found = visits(connection, wanted[-1], wanted[0])[::-1]
        ids = [find.id for visit in found for find in visit.finds]
        evidence = {e.find_id: e for e in evidence_of(connection, ids)}
        place_names = {p.id: p.name for p in places(connection)}
        spot_names = {s.id: s.name for s in spots(connection)}
    finally:
        connection.close()
    book = load_book()
    return tuple(_visit(visit, evidence, place_names, spot_names, book) for visit in found)


@dataclass(frozen=True, slots=True)
class DaysOut:
    """Some days out, latest first; ``earlier`` is the last day out before them, None where there is none."""

    visits: tuple[ListedVisit, ...]
    earlier: date | None


def days_out(home: Home, *, until: date) -> DaysOut:
    """The last days out up to a day, and where those before them begin."""
    found = list_finds(home, today=until)
    if not found or found[-1].visit.day == date.min:
        return DaysOut(found, None)
    connection = open_ledger(home.ledger)
    try:
        before = recent_days(connection, 1, found[-1].visit.day - timedelta(days=1))
    finally:
        connection.close()
    return DaysOut(found, before[0] if before else None)


def _visit(
    visit: Visit,
    evidence: dict[str, FindEvidence],
    place_names: dict[str, str],
    spot_names: dict[str, str],
    book: Book,
) -> ListedVisit:
    held = {find.spot_id for find in visit.finds}
    return ListedVisit(
        visit,
        place_names.get(visit.place_id, visit.place_id),
        tuple(
            _find(find, spot_names.get(find.spot_id, find.spot_id), evidence[find.id], book)
            for find in visit.finds
        ),
        tuple(spot_names.get(s.spot_id, s.spot_id) for s in visit.searches if s.spot_id not in held),
    )


def _find(find: Find, spot: str, evidence: FindEvidence, book: Book) -> ListedFind:
    taxon = book.taxa.get(find.taxon_id)
    why = lapsed(evidence, book.version)
    return ListedFind(
        find=find,
        kind=taxon.common_names[0] if taxon and taxon.common_names else find.taxon_id,
        scientific_name=taxon.scientific_name if taxon else "",
        spot=spot,
        state=evidence.state if why is None and evidence.state else NOT_VETTED,
        why=why or "",
    )


def one_find(home: Home, find_id: str) -> OneFind:
    """One find with everything on record about it; UserMistake when there is none of this id."""
    connection = open_ledger(home.ledger)
    try:
        found = find_by_id(connection, find_id)
        if found is None:
            raise UserMistake("there is no such find", remedy="choose one from the list of finds")
        find, visit = found
        evidence = evidence_of(connection, [find_id])[0]
        place_names = {p.id: p.name for p in places(connection)}
        spot_names = {s.id: s.name for s in spots(connection)}
        return OneFind(
            _find(find, spot_names.get(find.spot_id, find.spot_id), evidence, load_book()),
            visit,
            place_names.get(visit.place_id, visit.place_id),
            tuple(verdicts_of(connection, find_id)),
            tuple(photos(connection, find_id)),
        )
    finally:
        connection.close()
