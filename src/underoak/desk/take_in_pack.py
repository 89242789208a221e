"""What telephones noted becomes spots, searches, finds and verdicts of the ledger, once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from underoak.desk.pack_documents import documents_of
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger
from underoak.ledger.pack import correct_find, noted_entries, store_noted
from underoak.ledger.places import spots, store_spots
from underoak.ledger.verdicts import store_verdict, verdicts_of
from underoak.ledger.visits import find_by_id, store_visits
from underoak.model.ground import Spot
from underoak.model.pack import (
    Conflict,
    Entry,
    FindEntry,
    Noted,
    PackHead,
    SearchEntry,
    SpotEntry,
    WalkEntry,
    conflicts,
    latest,
)
from underoak.model.vetting import STATES
from underoak.model.visits import Find, Search, Visit

if TYPE_CHECKING:
    from underoak.settings import Home

STRUCK_OUT = "struck out on the telephone"


def conflicts_of(home: Home) -> tuple[Conflict, ...]:
    """Everything on which the telephones of a home disagree."""
    connection = open_ledger(home.ledger)
    try:
        return conflicts(noted_entries(connection))
    finally:
        connection.close()


def take_in(connection: Ledger, noted: Sequence[Noted]) -> int:
    """Store the entries inside the caller's transaction; how many were not known before.

    Where telephones disagree, the ledger keeps what the first of them said and all entries stay on file
    (`underoak.model.pack.conflicts`). What was corrected at home is touched only by entries that are new.
    The page's own verdict is never read: every bag is vetted here from what was noted.
    """
    fresh = store_noted(connection, noted)
    for head in {one.pack.id: one.pack for one in fresh}.values():
        everything = noted_entries(connection, head.id)
        new = {(one.device, one.entry) for one in fresh if one.pack.id == head.id}
        _apply(connection, _Pack(head, everything, _settled(everything), new))
    return len(fresh)


@dataclass(frozen=True)
class _Pack:
    """All entries of one pack, what holds of each thing, and which (device, entry) are new."""

    head: PackHead
    noted: Sequence[Noted]
    settled: dict[str, Noted]
    new: set[tuple[str, Entry]]

    def fresh(self) -> list[Entry]:
        """What holds and was not known before."""
        return [one.entry for one in self.settled.values() if (one.device, one.entry) in self.new]


def _settled(noted: Sequence[Noted]) -> dict[str, Noted]:
    """About -> the last entry of that telephone whose log came first."""
    settled: dict[str, Noted] = {}
    order = {device: n for n, device in reversed(list(enumerate(one.device for one in noted)))}
    held = latest(noted)
    for (_, about, _), one in sorted(held.items(), key=lambda item: order[item[1].device]):
        settled.setdefault(about, one)
    return settled


def _apply(connection: Ledger, pack: _Pack) -> None:
    fresh = pack.fresh()
    real = _spot_ids(connection, pack)
    walks = [one.entry for one in pack.settled.values() if isinstance(one.entry, WalkEntry)]
    finds = [e for e in fresh if isinstance(e, FindEntry)]
    searches = [Search(real[e.spot_id], e.thoroughness) for e in fresh if isinstance(e, SearchEntry)]
    searches += [Search(real[e.spot_id], 0.6) for e in finds if not e.gone and not e.taxon_id]
    stored = [_find(pack.head, entry, real) for entry in finds if entry.taxon_id and not entry.gone]
    for find in [*stored, *_struck_out(connection, pack.head, finds)]:
        correct_find(connection, find)
    visit = Visit(
        id=f"pack-{pack.head.id}",
        day=pack.head.day,
        place_id=pack.head.place_id,
        minutes=next((walk.minutes for walk in walks if walk.minutes), None),
        people=_people(walks),
        searches=tuple(searches),
        finds=tuple(stored),
    )
    store_visits(connection, [visit])
    _vet(connection, pack)


def _people(walks: Iterable[WalkEntry]) -> tuple[str, ...]:
    names = [name for walk in walks for name in (*walk.people, walk.holder)]
    return tuple(dict.fromkeys(names))


def _spot_ids(connection: Ledger, pack: _Pack) -> dict[str, str]:
    """Ids of the page -> ids of the ledger; a new spot is stored, one of a known name is that one."""
    here = [spot for spot in spots(connection) if spot.place_id == pack.head.place_id]
    real = {spot.id: spot.id for spot in here}
    named = {spot.name.casefold(): spot.id for spot in here}
    for one in pack.settled.values():
        entry = one.entry
        if not isinstance(entry, SpotEntry):
            continue
        name = entry.name.casefold()
        if name not in named:
            named[name] = f"pack-{pack.head.id}-{_slug(name)}"
            spot = Spot(named[name], pack.head.place_id, entry.name, entry.lon, entry.lat)
            store_spots(connection, [spot])
        real[entry.spot_id] = named[name]
    return real


def _slug(name: str) -> str:
    return re.sub(r"\W+", "-", name.casefold()).strip("-") or "spot"


def _find_id(head: PackHead, bag: str) -> str:
    return f"pack-{head.id}-{_slug(bag)}"


def _find(head: PackHead, entry: FindEntry, real: dict[str, str]) -> Find:
    from underoak.book.load import load_book

    photos = f"photos on the telephone: {', '.join(entry.photos)}" if entry.photos else ""
    return Find(
        id=_find_id(head, entry.bag),
        spot_id=real[entry.spot_id],
        taxon_id=load_book().find(entry.taxon_id or "").id,
        stage=entry.stage,
        bodies=entry.bodies,
        fresh_g=entry.fresh_g,
        note="; ".join(part for part in (f"bag {entry.bag}", entry.note, photos) if part),
    )


def _struck_out(connection: Ledger, head: PackHead, finds: Iterable[FindEntry]) -> Iterable[Find]:
    """Finds that are on record and were struck out since: they stay, without amount."""
    for entry in finds:
        known = find_by_id(connection, _find_id(head, entry.bag)) if entry.gone else None
        if known is not None:
            old = known[0]
            yield Find(old.id, old.spot_id, old.taxon_id, old.stage, None, None, f"{old.note}; {STRUCK_OUT}")


def _vet(connection: Ledger, pack: _Pack) -> None:
    """Vet every bag on which something new was noted; of several documents the worst verdict stands."""
    from underoak.book.load import load_book
    from underoak.vetting.verdict import evaluate

    book = load_book()
    for bag in sorted({entry.bag for _, entry in pack.new if hasattr(entry, "bag")}):
        known = find_by_id(connection, _find_id(pack.head, bag))
        if known is None:
            continue
        earlier = [v.observations for v in verdicts_of(connection, known[0].id)]
        documents = documents_of(book, pack.noted, pack.settled, known[0], bag)
        given = [(document, evaluate(book, document, earlier)) for document in documents]
        for document, verdict in sorted(given, key=lambda pair: -STATES.index(pair[1].state)):
            store_verdict(connection, known[0].id, document, verdict, pack.head.day)
