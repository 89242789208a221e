"""What the program answered, kept with the inputs and the book that made the answer."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from underoak.model.plain import as_plain

AnswerKind = Literal["week", "walk", "kitchen"]


@dataclass(frozen=True, slots=True)
class GivenAnswer:
    """An answer as it was given. ``document`` holds plain JSON values."""

    made_on: date
    for_day: date
    document: Any


def store_answer(
    connection: sqlite3.Connection,
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


def given_answers(connection: sqlite3.Connection, kind: AnswerKind, *, until: date) -> list[GivenAnswer]:
    """All answers of a kind for days up to ``until``, in the order in which they were given."""
    rows = connection.execute(
        "SELECT made_on, for_day, document FROM answer WHERE kind = ? AND for_day <= ? "
        "ORDER BY made_on, rowid",
        (kind, until.isoformat()),
    )
    return [
        GivenAnswer(
            date.fromisoformat(row["made_on"]),
            date.fromisoformat(row["for_day"]),
            json.loads(row["document"]),
        )
        for row in rows
    ]
