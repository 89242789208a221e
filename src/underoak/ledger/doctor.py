"""What a ledger may suffer from beside damaged pages, and the repairs that lose nothing."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from underoak.ledger.backup import DATED, read_only
from underoak.ledger.connection import Ledger
from underoak.ledger.database import migrations, writing
from underoak.model.quantities import said


@dataclass(frozen=True, slots=True)
class Ailment:
    """One thing that is wrong, what to do, and the name of the repair if there is one."""

    kind: str
    what: str
    remedy: str = ""
    repair: str = ""


def clock_trouble(connection: Ledger, today: date) -> list[Ailment]:
    """Records that lie in the future, or before what they follow on: a clock or a year was wrong."""
    ailments = []
    for table, column in DATED:
        count, last = connection.execute(
            f"SELECT count(*), max({column}) FROM {table} WHERE substr({column}, 1, 10) > ?",  # noqa: S608
            (today.isoformat(),),
        ).fetchone()
        if count:
            lie = said(count, f"record of {table} lies", f"records of {table} lie")
            what = f"{lie} in the future, the last on {str(last)[:10]}"
            ailments.append(Ailment("clock", what, "check this computer's clock, then mend the records"))
    for one, many, question in _ORDER:
        count = connection.execute(question).fetchone()[0]
        if count:
            ailments.append(Ailment("clock", said(count, one, many), "one of the two days is wrong"))
    return ailments


_ORDER = (
    (
        "verdict is older than the visit of its find",
        "verdicts are older than the visits of their finds",
        "SELECT count(*) FROM verdict w JOIN find f ON f.id = w.find_id JOIN visit v ON v.id = f.visit_id "
        "WHERE w.given_on < v.day",
    ),
    (
        "jar was gone before it was filled",
        "jars were gone before they were filled",
        "SELECT count(*) FROM jar WHERE state_on < made_on",
    ),
    (
        "lot was picked before the visit of its find",
        "lots were picked before the visits of their finds",
        "SELECT count(*) FROM lot l JOIN find f ON f.id = l.find_id JOIN visit v ON v.id = f.visit_id "
        "WHERE l.picked_on < v.day",
    ),
)


def orphans(connection: Ledger) -> list[Ailment]:
    """Records that lack what they imply."""
    unlooked = connection.execute(f"SELECT count(*) {_UNLOOKED}").fetchone()[0]
    empty = connection.execute(
        "SELECT count(*) FROM batch b WHERE NOT EXISTS (SELECT 1 FROM any_batch_lot WHERE batch_id = b.id)"
    ).fetchone()[0]
    ailments = []
    if unlooked:
        what = said(
            unlooked,
            "find stands at a spot that its visit did not search",
            "finds stand at spots that their visits did not search",
        )
        ailments.append(Ailment("orphan", what, "note a look around for each", "looks"))
    if empty:
        what = (
            said(empty, "batch is made from no lot: its", "batches are made from no lot: their")
            + " jars lead back to no tree"
        )
        ailments.append(Ailment("orphan", what, "write on those jars: origin unknown, not to be eaten"))
    return ailments


_UNLOOKED = (
    "FROM find f WHERE NOT EXISTS "
    "(SELECT 1 FROM search s WHERE s.visit_id = f.visit_id AND s.spot_id = f.spot_id)"
)


def add_looks(connection: Ledger) -> int:
    """A look around (0.6) for each find whose spot was not noted as searched; how many."""
    with writing(connection):
        added = connection.execute(
            f"INSERT INTO search SELECT DISTINCT f.visit_id, f.spot_id, 0.6 {_UNLOOKED} "
            "ON CONFLICT DO NOTHING"
        )
        return added.rowcount


def salvage(damaged: Path, target: Path) -> dict[str, tuple[int, bool]]:
    """Copy every row that can still be read into a new ledger; how many by table, and whether that was all.

    The damaged file is only read. Method: each table is read from its front until a page fails, then from
    its back until one fails. Rows that refer to lost ones are kept; `underoak doctor` then tells of them.
    """
    rescued: dict[str, tuple[int, bool]] = {}
    with closing(read_only(damaged)) as old, closing(sqlite3.connect(target, isolation_level=None)) as new:
        version = _known_version(old)
        for number, text in migrations():
            if number <= version:
                new.executescript(f"BEGIN;\n{text}\nPRAGMA user_version = {number};\nCOMMIT;")
        tables = [
            r[0] for r in new.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")
        ]
        for table in tables:
            rescued[table] = _rescue(old, new, table)
    return rescued


def _known_version(connection: sqlite3.Connection) -> int:
    newest = migrations()[-1][0]
    with suppress(sqlite3.DatabaseError):
        version = int(connection.execute("PRAGMA user_version").fetchone()[0])
        return version if 1 <= version <= newest else newest
    return newest


def _rescue(old: sqlite3.Connection, new: sqlite3.Connection, table: str) -> tuple[int, bool]:
    information = new.execute(f"PRAGMA table_info({table})").fetchall()
    columns = [row[1] for row in information]
    key = [row[1] for row in sorted((r for r in information if r[5]), key=lambda r: r[5])]
    whole = False
    for way in ("ASC", "DESC"):
        order = ", ".join(f"{name} {way}" for name in key)
        whole = whole or _copy(old, new, table, columns, order)
    return new.execute(f"SELECT count(*) FROM {table}").fetchone()[0], whole  # noqa: S608


def _copy(
    old: sqlite3.Connection, new: sqlite3.Connection, table: str, columns: Sequence[str], order: str
) -> bool:
    """Copy rows in one order until a page fails; whether none did."""
    names, marks = ", ".join(columns), ", ".join("?" * len(columns))
    insert = f"INSERT OR IGNORE INTO {table} ({names}) VALUES ({marks})"  # noqa: S608 - own schema
    new.execute("BEGIN")
    try:
        for row in old.execute(f"SELECT {names} FROM {table} ORDER BY {order}"):  # noqa: S608
            with suppress(sqlite3.IntegrityError):
                new.execute(insert, tuple(row))
    except (sqlite3.DatabaseError, UnicodeDecodeError):
        return False
    finally:
        new.execute("COMMIT")
    return True
