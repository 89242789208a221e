"""Vetting one question at a time: what to ask next, what stands so far. Nothing is filled in beforehand."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from underoak.book.load import load_book
from underoak.desk.vet_find import completed, find_of, parse_observations
from underoak.errors import UserMistake
from underoak.ledger.database import open_ledger
from underoak.ledger.verdicts import verdicts_of
from underoak.model.characters import Character
from underoak.model.vetting import Observations, Verdict
from underoak.settings import Home
from underoak.vetting.verdict import evaluate

#: Asked of every body first, whatever it may be: neutral, quick, and the most telling.
FIRST = ("form", "hymenium", "growth", "substrate")
GROUND_QUESTIONS = {
    "treated": "Is the ground or the tree treated with sprays, salt or preservative?",
    "roadside": "Does it stand beside a busy road, railway or drain?",
    "flooded_or_dumped": "Was the ground flooded, or waste tipped there?",
}
CONDITION_QUESTIONS = {
    "wormy": "Is it eaten through by larvae?",
    "soaked": "Is it soaked by rain?",
    "frozen": "Is or was it frozen?",
    "rotten": "Is it soft, slimy, mouldy, or does it smell bad?",
}
AGES = {
    "button": "closed: a button or egg",
    "young": "just open",
    "mature": "fully open",
    "old": "old",
}


@dataclass(frozen=True, slots=True)
class Step:
    """Where the questions of one find stand.

    ``question`` is the character to ask of the body ``body_id`` now, None when nothing is left to ask of it.
    ``left`` are bodies and stems of the lot that were not begun. ``verdict`` is what would be said now.
    """

    body_id: str
    question: str | None
    character: Character | None
    answered: tuple[tuple[str, str], ...]
    left: int
    verdict: Verdict


def step(
    home: Home, find_id: str, document: Mapping[str, Any], *, today: date, ask: str = "", body: str = ""
) -> Step:
    """The next question of a find whose answers so far are in ``document`` (at least one body begun).

    ``ask`` names a character to ask (again); ``body`` a body other than the last one begun.

    Raises BadData with every fault of the document, UserMistake for an unknown find, body or character.
    """
    book, bodies = load_book(), document["bodies"]
    current = next((b for b in bodies if b["id"] == body), None if body else bodies[-1])
    if current is None:
        raise UserMistake("there is no such body", where="body", expected=", ".join(b["id"] for b in bodies))
    if ask and ask not in book.characters:
        raise UserMistake("there is no such question", where="ask")
    verdict = weigh(home, find_id, document, today=today)
    question = ask or _next(current, document, verdict)
    return Step(
        body_id=current["id"],
        question=question,
        character=book.characters[question] if question else None,
        answered=tuple((name, answer_words(name, seen)) for name, seen in current["observations"].items()),
        left=max(document["bodies_in_lot"] - sum(b["stems"] for b in bodies), 0),
        verdict=verdict,
    )


def weigh(home: Home, find_id: str, document: Mapping[str, Any], *, today: date) -> Verdict:
    """What vetting would say of the document now, earlier documents counted; nothing is stored."""
    observations = completed(_parsed(document), find_of(home, find_id), today)
    connection = open_ledger(home.ledger)
    try:
        earlier = [v.observations for v in verdicts_of(connection, find_id)]
    finally:
        connection.close()
    return evaluate(load_book(), observations, earlier)


def _parsed(document: Mapping[str, Any]) -> Observations:
    return parse_observations(json.dumps(document), "answers")


def _next(current: Mapping[str, Any], document: Mapping[str, Any], verdict: Verdict) -> str | None:
    """The first question not put yet: the four of every body, then what removes most danger a minute."""
    put = set(current["observations"])
    for name in FIRST:
        if name not in put:
            return name
    checks = verdict.next_checks
    if len(document["bodies"]) > 1:
        alone = {**document, "bodies": [dict(current)], "bodies_in_lot": current["stems"]}
        checks = evaluate(load_book(), _parsed(alone)).next_checks
    return next((check.character for check in checks if check.character not in put), None)


def answer_words(name: str, seen: Mapping[str, Any]) -> str:
    """One answer in the book's words."""
    character = load_book().characters.get(name)
    plain = {"not_looked": "not looked", "cant_tell": "can't tell", "absent": "absent"}
    if seen["look"] in plain:
        return plain[seen["look"]]
    if seen.get("value") is not None:
        return f"{seen['value']:g} {character.unit if character else ''}".strip()
    states = character.states if character else {}
    return ", or ".join(states.get(state, state) for state in seen.get("states", ()))
