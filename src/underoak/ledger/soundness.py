"""Whether a file that says it is a ledger has the tables of one, and texts that can be read."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from functools import cache
from typing import Any

from underoak.ledger.database import migrations

Shape = dict[str, tuple[tuple[Any, ...], ...]]
Others = frozenset[tuple[str, str]]


def schema_faults(connection: sqlite3.Connection, version: int) -> list[str]:
    """Tables that are not what this version of the schema says, and triggers or views that are none of ours.

    **Fails towards** refusing: a trigger that came in a file from elsewhere would act in our name.
    """
    tables, others = _expected(version)
    have, there = _shape(connection), _others(connection)
    return [
        *(f"there is no table {name}" for name in sorted(tables) if name not in have),
        *(
            f"the table {name} has other columns than its schema says"
            for name in sorted(tables)
            if name in have and have[name] != tables[name]
        ),
        *(f"the {kind} {name!r} is none of ours" for kind, name in sorted(there - others)),
        *(f"the {kind} {name} is missing" for kind, name in sorted(others - there)),
    ]


def text_faults(connection: sqlite3.Connection) -> list[str]:
    """Tables with a text that is no UTF-8, which no program can show."""
    faults = []
    for table, columns in _shape(connection).items():
        names = ", ".join(f'"{column[0]}"' for column in columns)
        try:
            for _ in connection.execute(f'SELECT {names} FROM "{table}"'):  # noqa: S608 - names of columns
                pass
        except (sqlite3.OperationalError, UnicodeDecodeError):
            faults.append(f"a text in the table {table} cannot be read")
    return faults


@cache
def _expected(version: int) -> tuple[Shape, Others]:
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        for number, text in migrations():
            if number <= version:
                connection.executescript(text)
        return _shape(connection), _others(connection)


def _shape(connection: sqlite3.Connection) -> Shape:
    """Name, type, NOT NULL and place in the key of every column, by table."""
    rows = connection.execute(
        'SELECT t.name, c.name, c.type, c."notnull", c.pk FROM sqlite_master t, pragma_table_info(t.name) c '
        "WHERE t.type = 'table' ORDER BY t.name, c.cid"
    )
    shape: Shape = {}
    for table, *column in rows:
        if not table.startswith("sqlite_"):
            shape[table] = (*shape.get(table, ()), tuple(column))
    return shape


def _others(connection: sqlite3.Connection) -> Others:
    rows = connection.execute("SELECT type, name FROM sqlite_master WHERE type IN ('trigger', 'view')")
    return frozenset((row[0], row[1]) for row in rows)
