"""What differs between a ledger and an earlier copy of it, table by table."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from underoak.ledger.backup import read_only
from underoak.ledger.merge_rules import NEVER_JOINED

#: Records that are only ever added.
NEVER_CHANGED = frozenset({"verdict", "learned", "judgement", "pack_entry", "answer"})
#: The order of verdicts, which grows as they are given, is no record of its own.
_LEFT_OUT = NEVER_JOINED | {"verdict_order"}
#: Records of a table that are told one by one.
MOST_TOLD = 3


@dataclass(frozen=True, slots=True)
class Difference:
    """Rows of one table that the earlier copy had and that are gone or hold something else now.

    ``examples`` say of a few which value was there and which is now. ``never_changed`` is true where the
    program itself changes no row, so that a fault of the disk, or a hand, must have done it.
    """

    table: str
    gone: int
    changed: int
    examples: tuple[str, ...]
    never_changed: bool


def differences(now: Path, then: Path) -> tuple[Difference, ...]:
    """Every table in which rows of ``then`` are not in ``now`` as they were; both have the same schema.

    What was added since is no difference. Nothing is written.
    """
    with closing(read_only(now)) as connection:
        connection.execute("ATTACH ? AS earlier", (f"{then.absolute().as_uri()}?mode=ro",))
        names = connection.execute(
            "SELECT name FROM earlier.sqlite_master WHERE type = 'table' ORDER BY name"
        )
        tables = [row[0] for row in names if row[0] not in _LEFT_OUT and not row[0].startswith("sqlite_")]
        found = [_difference(connection, table) for table in tables]
    return tuple(one for one in found if one is not None)


def _difference(connection: sqlite3.Connection, table: str) -> Difference | None:
    information = connection.execute(f"PRAGMA earlier.table_info({table})").fetchall()
    columns = [row[1] for row in information]
    key = [row[1] for row in sorted((r for r in information if r[5]), key=lambda r: r[5])]
    names = ", ".join(columns)
    rows = connection.execute(
        f"SELECT {names} FROM earlier.{table} EXCEPT SELECT {names} FROM main.{table}"  # noqa: S608 - own schema
    )
    gone, changed, examples = 0, 0, list[str]()
    for row in rows.fetchall():
        words = _became(connection, table, columns, key, row)
        gone += not words
        changed += bool(words)
        if len(examples) < MOST_TOLD:
            examples.append(words or f"{_named(row, key)} is gone")
    if not gone + changed:
        return None
    return Difference(table, gone, changed, tuple(examples), table in NEVER_CHANGED)


def _became(
    connection: sqlite3.Connection, table: str, columns: Sequence[str], key: Sequence[str], row: sqlite3.Row
) -> str:
    """What the row of the same key holds now instead; empty where there is none."""
    where = " AND ".join(f"{name} = ?" for name in key)
    now = connection.execute(
        f"SELECT {', '.join(columns)} FROM main.{table} WHERE {where}",  # noqa: S608 - own schema
        [row[name] for name in key],
    ).fetchone()
    if now is None:
        return ""
    parts = [
        f"{name} was {row[name]!r:.60}, is {now[name]!r:.60}" for name in columns if now[name] != row[name]
    ]
    return f"{_named(row, key)}: {'; '.join(parts[:3])}"


def _named(row: sqlite3.Row, key: Sequence[str]) -> str:
    return " ".join(str(row[name]) for name in key)
