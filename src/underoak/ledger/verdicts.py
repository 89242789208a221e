"""Verdicts of finds: only ever added, never changed."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from underoak.ledger.chosen import chosen
from underoak.ledger.connection import Ledger, Row
from underoak.model.plain import as_plain
from underoak.model.strict import validate_document
from underoak.model.vetting import Observations, Verdict

#: The order of verdicts, the one that stands last: by day, then as they were given, which every ledger counts
#: for itself. Two that were given on one day in two ledgers may have one number: then the stricter stands
#: ('refused' is after 'open' after 'consistent' after 'confirmed' in the alphabet), of two like ones the
#: greater id, which is a sum of the content.
IN_ORDER = (
    "given_on, coalesce((SELECT number FROM verdict_order WHERE verdict_id = verdict.id), 0), state, id"
)


@dataclass(frozen=True, slots=True)
class StoredVerdict:
    """One verdict as it was given. ``answer`` is the verdict as plain JSON values."""

    id: str
    find_id: str
    taxon_id: str
    state: str
    bodies: int
    given_on: date
    book_version: str
    observations: Observations
    answer: dict[str, Any]
    confirmed_by: str | None


def store_verdict(
    connection: Ledger, find_id: str, document: Observations, verdict: Verdict, given_on: date
) -> str:
    """Add a verdict and hand back its id; the same one given again on the same day is kept once.

    A verdict without a name is stored under the empty taxon id.
    """
    observations = json.dumps(document.model_dump(mode="json"), ensure_ascii=False, sort_keys=True)
    answer = json.dumps(as_plain(verdict), ensure_ascii=False, sort_keys=True)
    told = "\n".join([find_id, given_on.isoformat(), observations, answer])
    verdict_id = hashlib.sha256(told.encode()).hexdigest()[:24]
    connection.execute(
        "INSERT INTO verdict (id, find_id, taxon_id, state, bodies, given_on, book_version, observations, "
        "answer, confirmed_by) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING",
        (
            verdict_id,
            find_id,
            verdict.target or "",
            verdict.state,
            verdict.bodies_in_lot,
            given_on.isoformat(),
            verdict.book_version,
            observations,
            answer,
            verdict.confirmed_by,
        ),
    )
    _put_last(connection, find_id, verdict_id)
    return verdict_id


def _put_last(connection: Ledger, find_id: str, verdict_id: str) -> None:
    """Give the verdict the next number of its find, unless it is the last already."""
    row = connection.execute(
        "SELECT o.verdict_id, o.number FROM verdict_order o JOIN verdict v ON v.id = o.verdict_id "
        "WHERE v.find_id = ? ORDER BY o.number DESC, v.state DESC, v.id DESC LIMIT 1",
        (find_id,),
    ).fetchone()
    if row is None or row[0] != verdict_id:
        connection.execute(
            "INSERT INTO verdict_order VALUES (?, ?) "
            "ON CONFLICT (verdict_id) DO UPDATE SET number = excluded.number",
            (verdict_id, row[1] + 1 if row else 1),
        )


def verdicts_of(connection: Ledger, find_id: str) -> list[StoredVerdict]:
    """All verdicts of a find, oldest first."""
    rows = connection.execute(
        f"SELECT * FROM verdict WHERE find_id = ? ORDER BY {IN_ORDER}",  # noqa: S608 - own constant
        (find_id,),
    ).fetchall()
    return [_stored(row) for row in rows]


def last_verdict_ids(connection: Ledger, until: date) -> dict[str, str]:
    """Id of the newest verdict up to a day, by find id."""
    rows = connection.execute(
        f"SELECT find_id, id FROM verdict WHERE given_on <= ? ORDER BY {IN_ORDER}",  # noqa: S608 - own constant
        (until.isoformat(),),
    )
    last = {row[0]: row[1] for row in rows}  # of several of one find the last stays
    return dict(sorted(last.items()))


def verdicts_by_id(connection: Ledger, ids: Iterable[str]) -> Iterator[StoredVerdict]:
    """These verdicts, one after the other."""
    return (_stored(row) for row in chosen(connection, "SELECT * FROM verdict WHERE id IN (…)", ids))


def _stored(row: Row) -> StoredVerdict:
    where = f"verdict {row['id']}"
    observations, problems = validate_document(Observations, json.loads(row["observations"]), where)
    if observations is None:
        raise ValueError(f"{where} holds observations this program cannot read: {problems[0].sentence()}")
    return StoredVerdict(
        id=row["id"],
        find_id=row["find_id"],
        taxon_id=row["taxon_id"],
        state=row["state"],
        bodies=row["bodies"],
        given_on=date.fromisoformat(row["given_on"]),
        book_version=row["book_version"],
        observations=observations,
        answer=json.loads(row["answer"]),
        confirmed_by=row["confirmed_by"],
    )
