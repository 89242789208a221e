"""Ask a person who knows: a dossier of one find without its spot, and what they answered."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from underoak.book.load import load_book
from underoak.desk.read_book import Beside, beside
from underoak.errors import NoAnswer, UserMistake
from underoak.export.blurred_photo import stripped_jpeg
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.photos import photos
from underoak.ledger.verdicts import StoredVerdict, store_verdict, verdicts_of
from underoak.ledger.visits import find_by_id
from underoak.model.vetting import Observation, Opinion, Verdict
from underoak.settings import Home
from underoak.vetting.opinion import with_opinion
from underoak.vetting.reasons import said
from underoak.vetting.verdict import evaluate

#: Names less likely than this are not put side by side, unless they are open dangers.
LEAST_SHARE = 0.001


@dataclass(frozen=True, slots=True)
class BodyNotes:
    """What was looked at on one body, in the book's words, and what was not."""

    body_id: str
    kind: str
    stems: int
    age: str
    seen: tuple[str, ...]
    unclear: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Dossier:
    """Everything a person who knows needs, and nothing that gives the spot away.

    ``photos`` are JPEG pictures without any tag, as base64 text with what each shows.
    """

    find_id: str
    month: str
    target: str
    verdict: Verdict
    bodies: tuple[BodyNotes, ...]
    beside: tuple[Beside, ...]
    photos: tuple[tuple[str, str], ...]


def dossier(home: Home, find_id: str) -> Dossier:
    """The dossier of a find, out of its last observation document and the book of today.

    Only the month is told of when, and nothing of where.

    Raises
    ------
    UserMistake   when there is no such find, or it was never vetted
    NoAnswer      when nothing that is gathered goes with what was seen
    """
    book = load_book()
    connection = open_ledger(home.ledger)
    try:
        found = find_by_id(connection, find_id)
        stored = _vetted(verdicts_of(connection, find_id), find_id)
        pictures = photos(connection, find_id)
    finally:
        connection.close()
    verdict = _anew(stored)
    if verdict.target is None:
        raise NoAnswer(f"{find_id} has no name to ask about", remedy="vet it with a target")
    matters = {d.taxon_id for b in verdict.bodies for d in b.doubles if not d.excluded}
    likely = [c.taxon_id for c in verdict.candidates if c.taxon_id and c.share >= LEAST_SHARE]
    listed = [k for t, k in book.confusions if t == verdict.target and book.taxa[k].dangerous]
    likely += sorted(listed, key=lambda k: k not in matters)
    others = [t for t in dict.fromkeys([*sorted(matters), *likely]) if t != verdict.target][:8]
    return Dossier(
        find_id=find_id,
        month=found[1].day.strftime("%B %Y") if found else "",
        target=verdict.scientific_name,
        verdict=verdict,
        bodies=tuple(_notes(b) for b in stored[-1].observations.bodies),
        beside=tuple(beside(book, book.taxa[verdict.target], book.taxa[t]) for t in others),
        photos=tuple(_picture(home.photos / p.file, p.shows) for p in pictures),
    )


def _vetted(stored: list[StoredVerdict], find_id: str) -> list[StoredVerdict]:
    if not stored:
        raise UserMistake(
            f"the find {find_id!r} was never vetted, or there is no such find",
            remedy=f"first 'underoak vet {find_id}'",
        )
    return stored


def _anew(stored: list[StoredVerdict]) -> Verdict:
    """The last document evaluated with the book of today, older ones remembered."""
    documents = [v.observations for v in stored]
    return evaluate(load_book(), documents[-1], documents[:-1])


def _notes(body: Any) -> BodyNotes:
    book = load_book()
    looked = {n: o for n, o in body.observations.items() if o.look in ("seen", "absent")}
    unsure = [n for n, o in body.observations.items() if o.look == "cant_tell"]
    return BodyNotes(
        body_id=body.id,
        kind=body.kind,
        stems=body.stems,
        age=body.age or "not noted",
        seen=tuple(_line(book, name, looked[name]) for name in book.characters if name in looked),
        unclear=tuple(book.characters[name].question for name in book.characters if name in unsure),
    )


def _line(book: Any, name: str, observation: Observation) -> str:
    how = " (on a photo)" if observation.by == "photo" else ""
    note = f" Note: {observation.note}" if observation.note else ""
    return f"{said(book, name, observation)}{how}{note}"


def _picture(path: Path, shows: str) -> tuple[str, str]:
    try:
        return base64.b64encode(stripped_jpeg(path.read_bytes(), path.name)).decode("ascii"), shows
    except OSError as error:
        raise UserMistake(
            f"the photo {path.name} cannot be read: {error}", remedy="put it back, or remove it"
        ) from error


def record_answer(home: Home, find_id: str, opinion: Opinion, *, today: date) -> Verdict:
    """Keep what a named person said about a find; only this makes a verdict confirmed, a dissent refuses.

    The last observations are evaluated anew with the book of today before the answer is set beside them.

    Raises UserMistake when the find was never vetted or the person has no name.
    """
    if not opinion.person.strip():
        raise UserMistake("an answer needs the name of the person who gave it", expected="--person NAME")
    connection = open_ledger(home.ledger)
    try:
        stored = _vetted(verdicts_of(connection, find_id), find_id)
        verdict = with_opinion(_anew(stored), opinion)
        with writing(connection):
            store_verdict(connection, find_id, stored[-1].observations, verdict, today)
    finally:
        connection.close()
    return verdict
