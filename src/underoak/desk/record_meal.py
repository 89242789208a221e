"""Write down who ate what, first tastes and reactions."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from underoak.book.load import load_book
from underoak.errors import BadData, UserMistake
from underoak.kitchen.cautions import coprine_days
from underoak.ledger.codes import batch_meant
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.pantry import batches, jar_by_code, kept_lots, set_jar_state
from underoak.ledger.servings import Serving, note_reaction, servings, store_servings
from underoak.model.kitchen import Batch, Jar
from underoak.model.problem import Problem
from underoak.settings import Home
from underoak.sheets.wording import AGAINST_ADVICE, ASK_ABOUT_ALCOHOL, EATING_CAUTIONS, alcohol_caution


@dataclass(frozen=True, slots=True)
class MealNote:
    """A meal as a person tells it: from a jar, from a batch cooked fresh, or of a kind by name."""

    at: datetime
    people: Sequence[str]
    jar: str | None = None
    batch: str | None = None
    taxon: str | None = None
    grams: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class MealAnswer:
    """The servings that were stored, and what has to be said now."""

    servings: tuple[Serving, ...]
    first_tastes: tuple[str, ...]
    cautions: tuple[str, ...]


def record_meal(home: Home, note: MealNote, *, now: datetime) -> MealAnswer:
    """Store one serving for each person and kind; an opened jar counts as eaten.

    What was made against the advice can be written down too, and stands under its warning: the record is
    for the incident sheet, not a permission.

    Raises
    ------
    BadData   for unknown people, a meal to come, or no or more than one source, all at once
    UserMistake   for an unknown jar, batch or kind
    """
    _check(home, note, now)
    connection = open_ledger(home.ledger)
    try:
        with writing(connection):
            jar = jar_by_code(connection, note.jar) if note.jar else None
            batch = _batch(connection, jar.batch_id if jar else note.batch)
            kinds = _kinds(connection, note, batch)
            new = _servings(connection, note, kinds, jar=jar, batch=batch)
            store_servings(connection, new)
            if jar is not None and jar.state == "kept":
                set_jar_state(connection, jar.code, "eaten", note.at.date())
        against = bool(batch and batch.against_advice)
        return MealAnswer(new, tuple(_first_tastes(new)), _cautions(kinds, note.people, against=against))
    finally:
        connection.close()


def _batch(connection: Ledger, batch_id: str | None) -> Batch | None:
    if batch_id is None:
        return None
    meant = batch_meant(connection, batch_id)
    if meant is None:
        raise UserMistake(f"there is no batch {batch_id!r}", expected="one of 'underoak jars'")
    return batches(connection, [meant])[meant]


def _kinds(connection: Ledger, note: MealNote, batch: Batch | None) -> list[str]:
    if batch is None:
        return [load_book().find(note.taxon or "").id]
    lots = kept_lots(connection)
    return list(dict.fromkeys(lots[lot_id].taxon_id for lot_id, _ in batch.lots))


def _servings(
    connection: Ledger,
    note: MealNote,
    kinds: Sequence[str],
    *,
    jar: Jar | None,
    batch: Batch | None,
) -> tuple[Serving, ...]:
    had = {(s.person, s.taxon_id) for s in servings(connection, until=note.at)}
    return tuple(
        Serving(
            id=uuid.uuid4().hex[:12],
            eaten_at=note.at,
            person=person,
            taxon_id=kind,
            jar_id=jar.id if jar else None,
            batch_id=batch.id if batch else None,
            grams=note.grams,
            first_taste=(person, kind) not in had,
            note=note.note,
        )
        for person in note.people
        for kind in kinds
    )


def _check(home: Home, note: MealNote, now: datetime) -> None:
    known = {person.name for person in home.settings.people}
    problems = [
        Problem(
            f"{name!r} is nobody of the household",
            "person",
            ", ".join(sorted(known)),
            "guests go into --note",
        )
        for name in note.people
        if name not in known
    ]
    if not note.people:
        problems.append(Problem("nobody ate", "person", "at least one name"))
    if note.at > now:
        problems.append(
            Problem(f"a meal at {note.at:%Y-%m-%d %H:%M}, which is to come", "at", "a time that is over")
        )
    if note.grams is not None and not 0.0 < note.grams <= 5000.0:
        problems.append(Problem(f"{note.grams:g} g", "grams", "more than 0, at most 5000 g a person"))
    if sum(bool(part) for part in (note.jar, note.batch, note.taxon)) != 1:
        problems.append(Problem("not one source", "jar, batch or kind", "exactly one of the three"))
    if problems:
        raise BadData(problems)


def _first_tastes(new: Sequence[Serving]) -> list[str]:
    book = load_book()
    told = []
    for one in new:
        if one.first_taste:
            kind = book.common_name(one.taxon_id)
            told.append(
                f"{one.person}: first taste of {kind}; no more of it, and nothing else new, for 24 hours"
            )
    return told


def _cautions(kinds: Sequence[str], people: Sequence[str], *, against: bool) -> tuple[str, ...]:
    book = load_book()
    words = [AGAINST_ADVICE] if against else []
    for taxon in (book.taxa[kind] for kind in kinds if kind in book.taxa):
        days = coprine_days(taxon)
        if days:
            words += [ASK_ABOUT_ALCOHOL.format(person=person, days=days) for person in people]
        words += [alcohol_caution(c.alcohol_days) for c in taxon.cautions if c.alcohol_days]
    return tuple(dict.fromkeys([*words, *EATING_CAUTIONS]))


def record_reaction(home: Home, serving_id: str, reaction: str, at: datetime) -> Serving:
    """Note what somebody felt after a serving; from then on the kind counts as new for everybody.

    Raises UserMistake for an unknown serving, an empty reaction, or one before the meal.
    """
    if not reaction.strip():
        raise UserMistake("no reaction was told", expected="a few words")
    connection = open_ledger(home.ledger)
    try:
        with writing(connection):
            note_reaction(connection, serving_id, reaction.strip(), at)
        return next(s for s in servings(connection) if s.id == serving_id)
    finally:
        connection.close()


def meals_of(home: Home, *, since: datetime | None = None) -> tuple[Serving, ...]:
    """Servings since a moment, oldest first."""
    connection = open_ledger(home.ledger)
    try:
        return servings(connection, since)
    finally:
        connection.close()
