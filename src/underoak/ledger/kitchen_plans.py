"""The plans of an evening in the order in which they were made: tasks are those of the last one."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

from underoak.ledger.answers import store_answer
from underoak.ledger.connection import Ledger
from underoak.model.plain import as_plain


def last_plan(connection: Ledger, day: date) -> dict[str, Any] | None:
    """The document of the last plan that was made for a day, None where there is none."""
    row = connection.execute(
        "SELECT document FROM answer WHERE kind = 'kitchen' AND for_day = ? ORDER BY rowid DESC LIMIT 1",
        (day.isoformat(),),
    ).fetchone()
    if row is None:
        return None
    document: dict[str, Any] = json.loads(row[0])
    return document


def keep_plan(
    connection: Ledger, *, day: date, book_version: str, inputs: dict[str, Any], document: Any
) -> None:
    """Keep a plan unless the last one of the day says the same.

    A plan that comes again after another one is kept again, so that the last is always the last shown.
    """
    plain = as_plain(document)
    if last_plan(connection, day) == plain:
        return
    turn = connection.execute(
        "SELECT count(*) FROM answer WHERE kind = 'kitchen' AND for_day = ?", (day.isoformat(),)
    ).fetchone()[0]
    store_answer(
        connection,
        "kitchen",
        made_on=day,
        for_day=day,
        book_version=book_version,
        inputs={**inputs, "turn": turn},
        document=plain,
    )
