"""Rows of many chosen keys with few questions, instead of one question a key or the whole table."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from underoak.ledger.connection import Ledger

#: Keys in one question; every kind of ledger takes as many marks.
MOST_KEYS = 500


def chosen(connection: Ledger, statement: str, keys: Iterable[str]) -> Iterator[Any]:
    """Rows of a statement that holds ``IN (…)`` once, for all keys; each key is asked for once.

    Rows come part by part, so any order that the statement gives holds only within 500 keys.
    """
    wanted = sorted(set(keys))
    for at in range(0, len(wanted), MOST_KEYS):
        part = wanted[at : at + MOST_KEYS]
        yield from connection.execute(statement.replace("(…)", f"({', '.join('?' * len(part))})"), part)
