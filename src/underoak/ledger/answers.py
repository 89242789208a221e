"""What the program answered, kept with the inputs and the book that made the answer."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from underoak.ledger.connection import Ledger, Row
from underoak.model.plain import as_plain

AnswerKind = Literal["week", "walk", "kitchen"]


@dataclass(frozen=True, slots=True)
class GivenAnswer:
    """An answer as given and what it was made from; ``document`` and ``inputs`` are plain JSON."""

    made_on: date
    for_day: date
    document: Any
    id: str = ""
    book_version: str = ""
    inputs: Any = None


def store_answer(
    connection: Ledger,
    kind: AnswerKind,
    *,
    made_on: date,
    for_day: date,
    book_version: str,
    inputs: Any,
    document: Any,
) -> str:
    """Keep an answer and hand back its id.

    ``inputs`` and ``document`` are anything `as_plain` can show. The id is a hash over everything but
    ``made_on``, so that the same answer asked for twice is kept once, with the first day it was given.
    """
    texts = [json.dumps(as_plain(part), ensure_ascii=False, sort_keys=True) for part in (inputs, document)]
    told = "\n".join([kind, for_day.isoformat(), book_version, *texts])
    answer_id = hashlib.sha256(told.encode()).hexdigest()[:24]
    connection.execute(
        "INSERT INTO answer (id, kind, made_on, for_day, book_version, inputs, document) "
        "VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING",
        (answer_id, kind, made_on.isoformat(), for_day.isoformat(), book_version, *texts),
    )
    return answer_id


_COLUMNS = "SELECT id, made_on, for_day, book_version, inputs, document FROM answer"


def given_answers(
    connection: Ledger, kind: AnswerKind, *, until: date, since: date = date.min
) -> list[GivenAnswer]:
    """All answers of a kind for days from ``since`` to ``until``, in the order they were given."""
    rows = connection.execute(
        f"{_COLUMNS} WHERE kind = ? AND for_day BETWEEN ? AND ? ORDER BY made_on, rowid",
        (kind, since.isoformat(), until.isoformat()),
    )
    return [_given(row) for row in rows]


def given_answer(connection: Ledger, answer_id: str) -> GivenAnswer | None:
    """One answer by its id, None where there is none."""
    row = connection.execute(f"{_COLUMNS} WHERE id = ?", (answer_id,)).fetchone()
    return _given(row) if row else None


def _given(row: Row) -> GivenAnswer:
    return GivenAnswer(
        made_on=date.fromisoformat(row["made_on"]),
        for_day=date.fromisoformat(row["for_day"]),
        document=json.loads(row["document"]),
        id=row["id"],
        book_version=row["book_version"],
        inputs=json.loads(row["inputs"]),
    )
