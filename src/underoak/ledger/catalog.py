"""What a ledger says of itself: its tables, their columns and keys, and the number of its schema."""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from underoak.ledger.connection import Ledger

_COLUMNS = """
SELECT a.attname, coalesce(array_position(i.indkey::int2[], a.attnum) + 1, 0)
FROM pg_attribute a LEFT JOIN pg_index i ON i.indrelid = a.attrelid AND i.indisprimary
WHERE a.attrelid = to_regclass(?) AND a.attnum > 0 AND NOT a.attisdropped AND a.attname <> 'rowid'
ORDER BY a.attnum
"""
_TABLES = (
    "SELECT relname FROM pg_class WHERE relnamespace = current_schema()::regnamespace AND relkind = 'r' "
    "AND relname <> 'ledger_state' ORDER BY relname"
)


def tables(ledger: Ledger) -> list[str]:
    """All tables of records, by name."""
    if isinstance(ledger, sqlite3.Connection):
        names = ledger.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")
        return [name for (name,) in names if not name.startswith("sqlite_")]
    return [name for (name,) in ledger.execute(_TABLES)]


def columns_and_key(ledger: Ledger, table: str) -> tuple[list[str], list[str]]:
    """The columns of a table in their order, and those of its primary key in theirs."""
    if isinstance(ledger, sqlite3.Connection):
        told = [(row[1], row[5]) for row in ledger.execute(f"PRAGMA table_info({table})")]
    else:
        told = [(row[0], row[1]) for row in ledger.execute(_COLUMNS.strip(), (table,))]
    key = sorted((place, name) for name, place in told if place)
    return [name for name, _ in told], [name for _, name in key]


def schema_of(ledger: Ledger) -> int:
    """The schema's number; 0 for a file that is no ledger."""
    asks_file = isinstance(ledger, sqlite3.Connection)
    question = "PRAGMA user_version" if asks_file else "SELECT version FROM ledger_state"
    return int(ledger.execute(question).fetchone()[0])


def defer_references(ledger: Ledger) -> None:
    """Until the end of this transaction a record may refer to one that comes later."""
    asks_file = isinstance(ledger, sqlite3.Connection)
    ledger.execute("PRAGMA defer_foreign_keys = ON" if asks_file else "SET CONSTRAINTS ALL DEFERRED")
