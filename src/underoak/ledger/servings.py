"""Who ate what when, first tastes and reactions."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import chain

from underoak.errors import UserMistake
from underoak.ledger.chosen import chosen
from underoak.ledger.connection import Ledger, Row


@dataclass(frozen=True, slots=True)
class Serving:
    """One person's portion. An empty ``reaction`` means that none was noted, not that none came."""

    id: str
    eaten_at: datetime
    person: str
    taxon_id: str
    jar_id: str | None = None
    batch_id: str | None = None
    grams: float | None = None
    first_taste: bool = False
    reaction: str = ""
    reaction_at: datetime | None = None
    note: str = ""


_COLUMNS = "id, eaten_at, person, taxon_id, jar_id, batch_id, grams, first_taste, reaction, reaction_at, note"


def store_servings(connection: Ledger, servings: Iterable[Serving]) -> None:
    """Store servings inside the caller's transaction."""
    for one in servings:
        if one.reaction_at is not None and one.reaction_at < one.eaten_at:
            raise UserMistake("a reaction before the meal", expected="a later time")
        connection.execute(
            f"INSERT INTO serving ({_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",  # noqa: S608
            (
                one.id,
                one.eaten_at.isoformat(timespec="minutes"),
                one.person,
                one.taxon_id,
                one.jar_id,
                one.batch_id,
                one.grams,
                int(one.first_taste),
                one.reaction,
                one.reaction_at.isoformat(timespec="minutes") if one.reaction_at else None,
                one.note,
            ),
        )


def note_reaction(connection: Ledger, serving_id: str, reaction: str, at: datetime) -> None:
    """Note a reaction to a serving."""
    row = connection.execute("SELECT eaten_at FROM serving WHERE id = ?", (serving_id,)).fetchone()
    if row is None:
        raise UserMistake(f"there is no serving {serving_id!r}")
    if at < datetime.fromisoformat(row[0]):
        raise UserMistake("a reaction before the meal", expected="a later time")
    connection.execute(
        "UPDATE serving SET reaction = ?, reaction_at = ? WHERE id = ?",
        (reaction, at.isoformat(timespec="minutes"), serving_id),
    )


def servings(
    connection: Ledger, since: datetime | None = None, until: datetime | None = None
) -> tuple[Serving, ...]:
    """Servings in a time, both ends included, oldest first."""
    first = since.isoformat(timespec="minutes") if since else ""
    last = until.isoformat(timespec="minutes") if until else "9999"
    rows = connection.execute(
        f"SELECT {_COLUMNS} FROM serving WHERE eaten_at BETWEEN ? AND ? "  # noqa: S608
        "ORDER BY eaten_at, person, taxon_id",
        (first, last),
    )
    return tuple(_serving(row) for row in rows)


def servings_of(
    connection: Ledger, *, batch_ids: Iterable[str], jar_ids: Iterable[str]
) -> tuple[Serving, ...]:
    """Servings of any of these batches or jars, oldest first."""
    columns = f"SELECT {_COLUMNS} FROM serving "  # noqa: S608
    rows = {
        row["id"]: row
        for row in chain(
            chosen(connection, columns + "WHERE batch_id IN (…)", batch_ids),
            chosen(connection, columns + "WHERE jar_id IN (…)", jar_ids),
        )
    }
    found = [_serving(row) for row in rows.values()]
    return tuple(sorted(found, key=lambda one: (one.eaten_at, one.person, one.taxon_id)))


def _serving(row: Row) -> Serving:
    return Serving(
        id=row["id"],
        eaten_at=datetime.fromisoformat(row["eaten_at"]),
        person=row["person"],
        taxon_id=row["taxon_id"],
        jar_id=row["jar_id"],
        batch_id=row["batch_id"],
        grams=row["grams"],
        first_taste=bool(row["first_taste"]),
        reaction=row["reaction"],
        reaction_at=datetime.fromisoformat(row["reaction_at"]) if row["reaction_at"] else None,
        note=row["note"],
    )


def known_kinds(connection: Ledger, people: Iterable[str], before: datetime) -> frozenset[str]:
    """Kinds that every one of these people has had at least a day before, without a noted reaction.

    **Fails towards** new: one person without a taste, or one reaction of anybody, makes a kind new again.
    """
    had: dict[str, set[str]] = {}
    bad: set[str] = set()
    for one in servings(connection, until=before):
        if one.reaction:
            bad.add(one.taxon_id)
        if (before - one.eaten_at).total_seconds() >= 24 * 3600:
            had.setdefault(one.taxon_id, set()).add(one.person)
    everybody = set(people)
    return frozenset(t for t, who in had.items() if everybody and everybody <= who and t not in bad)


def first_taste_lately(connection: Ledger, now: datetime) -> bool:
    """Whether anybody had a first taste less than a day before ``now``: another new kind has to wait."""
    since = now - timedelta(days=1)
    return any(one.first_taste for one in servings(connection, since, now))
