"""Vet a find: read what was looked at, evaluate it, and keep the verdict."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from underoak.book.load import load_book
from underoak.errors import BadData, UserMistake
from underoak.intake.reading import read_text
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.verdicts import StoredVerdict, store_verdict, verdicts_of
from underoak.ledger.visits import find_by_id
from underoak.model.problem import Problem
from underoak.model.strict import validate_document
from underoak.model.vetting import Observations, Reason, Verdict
from underoak.model.visits import Find
from underoak.settings import Home
from underoak.vetting.verdict import STATE_WORDS, evaluate

#: An observation document larger than this was not written by a person in the woods.
MOST_CHARACTERS = 4_000_000


@dataclass(frozen=True, slots=True)
class VettedFind:
    """A stored verdict with its find."""

    verdict_id: str
    find_id: str
    verdict: Verdict


def read_observations(path: Path) -> Observations:
    """The observation document in a JSON file.

    Raises BadData with every fault; what the characters mean is checked against the book by
    `underoak.vetting.verdict.evaluate`.
    """
    text = read_text(path, expected="an observation document (JSON)", long_lines=True)
    return parse_observations(text, path.name)


def parse_observations(text: str, where: str) -> Observations:
    """The same from text."""
    if len(text) > MOST_CHARACTERS:
        raise BadData(
            [Problem(f"the document has {len(text)} characters", where, f"at most {MOST_CHARACTERS}")]
        )
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        remedy = "the form is published: 'underoak vet --schema'"
        raise BadData([Problem(f"this is no JSON: {error}", where, "one JSON document", remedy)]) from error
    observations, problems = validate_document(Observations, document, where)
    if observations is None:
        raise BadData(problems)
    return observations


def schema() -> dict[str, Any]:
    """The JSON schema of the observation document."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **Observations.model_json_schema(),
    }


def find_of(home: Home, find_id: str) -> Find:
    """A find of the home; UserMistake when there is none."""
    connection = open_ledger(home.ledger)
    try:
        found = find_by_id(connection, find_id)
    finally:
        connection.close()
    if found is None:
        raise UserMistake(
            f"there is no find {find_id!r}",
            expected="an id that 'underoak vet --list' names",
            remedy="write the visit down first, or use --observations without a find",
        )
    return found[0]


def vet_find(home: Home, find_id: str, document: Observations, *, today: date) -> VettedFind:
    """Evaluate a find of the home and keep the verdict.

    The find's own name is the target where the document names none. What earlier documents on the same
    find noted and this one does not look at again still counts.

    Raises
    ------
    UserMistake   when there is no such find
    BadData       with every fault of the document; nothing is stored
    """
    book = load_book()
    find = find_of(home, find_id)
    document = completed(document, find, today)
    connection = open_ledger(home.ledger)
    try:
        stored = verdicts_of(connection, find_id)
        verdict = evaluate(book, document, [v.observations for v in stored])
        verdict = _with_dissent(verdict, stored)
        with writing(connection):
            verdict_id = store_verdict(connection, find_id, document, verdict, today)
    finally:
        connection.close()
    return VettedFind(verdict_id, find_id, verdict)


def _with_dissent(verdict: Verdict, stored: Sequence[StoredVerdict]) -> Verdict:
    """A person's dissent stands until a person agrees: new observations do not wash it away."""
    said = [r for v in stored for r in v.answer["reasons"] if r["kind"] == "person"]
    if not said or said[-1]["state"] != "refused":
        return verdict
    reason = Reason("person", "refused", said[-1]["words"], (), said[-1]["taxon_id"])
    reasons = verdict.reasons if reason in verdict.reasons else (reason, *verdict.reasons)
    return replace(verdict, state="refused", words=STATE_WORDS["refused"], reasons=reasons, next_checks=())


def completed(document: Observations, find: Find, today: date) -> Observations:
    """The document with the find's name, count and day where it says nothing, or says fewer bodies."""
    filled: dict[str, Any] = {}
    if document.target is None:
        filled["target"] = find.taxon_id
    if find.bodies is not None and find.bodies > document.bodies_in_lot:
        filled["bodies_in_lot"] = find.bodies
    if document.day_of_year is None:
        filled["day_of_year"] = today.timetuple().tm_yday
    return document.model_copy(update=filled) if filled else document


def vet_document(document: Observations) -> Verdict:
    """Evaluate a document that belongs to no stored find; nothing is kept."""
    return evaluate(load_book(), document)
