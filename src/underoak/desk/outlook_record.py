"""What the outlook has learned and how good it was: the last learning and the last judgement, as kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from underoak.desk.draft_form import change_draft, read_draft
from underoak.model.plain import as_plain

if TYPE_CHECKING:
    from underoak.desk.learn_seasons import Learning
    from underoak.settings import Home


@dataclass(frozen=True, slots=True)
class OutlookRecord:
    """``learning`` and ``judgement`` are the documents of a Learning and a Judgement, None before the first.

    ``stale`` says that the book has changed since the learning, so that it is no longer used; ``names`` are
    those of all taxa in the documents.
    """

    words: tuple[str, ...]
    learned_on: date | None
    learning: Mapping[str, Any] | None
    stale: bool
    judged_on: date | None
    judgement: Mapping[str, Any] | None
    names: Mapping[str, str]


def keep_learning(home: Home, learning: Learning, book_version: str) -> None:
    """Keep what the last learning told, beside what the ledger keeps to compute with."""
    document = {"book": book_version, "learning": as_plain(learning)}
    change_draft(home, "learning", "last", lambda _: document)


def outlook_record(home: Home, *, today: date) -> OutlookRecord:
    """The record up to ``today``; nothing is computed anew."""
    from underoak.book.load import load_book
    from underoak.desk.track_record import track_record
    from underoak.ledger.database import open_ledger
    from underoak.ledger.learned import latest_judgement

    book = load_book()
    kept = read_draft(home, "learning", "last") or {}
    connection = open_ledger(home.ledger)
    try:
        judged = latest_judgement(connection, until=today)
        _, record = track_record(connection, book, today=today)
    finally:
        connection.close()
    learning = kept.get("learning")
    return OutlookRecord(
        words=record.words,
        learned_on=date.fromisoformat(learning["made_on"]) if learning else record.learned_on,
        learning=learning,
        stale=bool(learning) and kept.get("book") != book.version,
        judged_on=judged[0] if judged else None,
        judgement=judged[1] if judged else None,
        names={taxon.id: taxon.scientific_name for taxon in book.taxa.values()},
    )
