"""Finds with what was said about them: the last verdict of each, and the kept specimen."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from underoak.ledger.chosen import chosen
from underoak.ledger.connection import Ledger, Row
from underoak.model.kitchen import VerdictState


@dataclass(frozen=True, slots=True)
class FindEvidence:
    """One find with its visit and its last verdict; ``verdict_id`` is None where it was never vetted."""

    find_id: str
    visit_id: str
    day: date
    spot_id: str
    taxon_id: str
    stage: str
    bodies: int | None
    fresh_g: float | None
    verdict_id: str | None
    verdict_taxon_id: str | None
    state: VerdictState | None
    verdict_bodies: int | None
    verdict_book: str | None
    given_on: date | None
    confirmed_by: str | None
    observations: Any


_QUERY = """
SELECT f.id, f.visit_id, v.day, f.spot_id, f.taxon_id, f.stage, f.bodies, f.fresh_g,
       w.id, w.taxon_id, w.state, w.bodies, w.book_version, w.given_on, w.confirmed_by, w.observations
FROM find f JOIN visit v ON v.id = f.visit_id
LEFT JOIN verdict w ON w.id = (
  SELECT v2.id FROM verdict v2 LEFT JOIN verdict_order o ON o.verdict_id = v2.id WHERE v2.find_id = f.id
  ORDER BY v2.given_on DESC, coalesce(o.number, 0) DESC, v2.state DESC, v2.id DESC LIMIT 1)
"""


def finds_of_day(connection: Ledger, day: date) -> tuple[FindEvidence, ...]:
    """Every find of one day with its last verdict."""
    rows = connection.execute(_QUERY + "WHERE v.day = ? ORDER BY f.id", (day.isoformat(),))
    return tuple(_evidence(row) for row in rows)


def evidence_of(connection: Ledger, find_ids: Sequence[str]) -> tuple[FindEvidence, ...]:
    """These finds with their last verdicts, in the order of their ids."""
    found = [_evidence(row) for row in chosen(connection, _QUERY + "WHERE f.id IN (…)", find_ids)]
    return tuple(sorted(found, key=lambda one: one.find_id))


def _evidence(row: Row) -> FindEvidence:
    return FindEvidence(
        find_id=row[0],
        visit_id=row[1],
        day=date.fromisoformat(row[2]),
        spot_id=row[3],
        taxon_id=row[4],
        stage=row[5],
        bodies=row[6],
        fresh_g=row[7],
        verdict_id=row[8],
        verdict_taxon_id=row[9],
        state=row[10],
        verdict_bodies=row[11],
        verdict_book=row[12],
        given_on=date.fromisoformat(row[13]) if row[13] else None,
        confirmed_by=row[14],
        observations=json.loads(row[15]) if row[15] else None,
    )


def lapsed(evidence: FindEvidence, book_version: str) -> str | None:
    """Why the last verdict of a find no longer stands; None when it does.

    **Fails towards** lapsing: another name, more bodies, an unknown count or a changed book end a verdict.
    """
    if evidence.verdict_id is None:
        return "it was not vetted"
    if evidence.verdict_taxon_id != evidence.taxon_id:
        return "the find goes by another name than its verdict"
    if evidence.bodies is not None and (evidence.verdict_bodies or 0) < evidence.bodies:
        return f"{evidence.bodies} bodies were found, {evidence.verdict_bodies} were looked at"
    if evidence.verdict_book != book_version:
        return "the book has changed since the verdict"
    return None


def specimens(connection: Ledger, find_ids: Iterable[str] | None = None) -> dict[str, tuple[str, ...]]:
    """Where uncooked bodies of finds are kept, by find: of all finds, or of these."""
    question = "SELECT find_id, kept_where, kept_on FROM specimen {} ORDER BY find_id, kept_on"
    rows: Iterable[Row] = (
        connection.execute(question.format(""))
        if find_ids is None
        else chosen(connection, question.format("WHERE find_id IN (…)"), find_ids)
    )
    kept: dict[str, tuple[str, ...]] = {}
    for row in rows:
        kept[row[0]] = (*kept.get(row[0], ()), f"{row[1]} (since {row[2]})")
    return kept


def store_specimen(connection: Ledger, find_id: str, kept_where: str, on: date) -> None:
    """Note where an uncooked body of a find is kept."""
    connection.execute(
        "INSERT INTO specimen VALUES (?, ?, ?) "
        "ON CONFLICT (find_id, kept_where) DO UPDATE SET kept_on = excluded.kept_on",
        (find_id, kept_where, on.isoformat()),
    )
