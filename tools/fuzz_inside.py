"""Spoilt insides of whole containers: members of a zip whose sums still agree, values and tables of a ledger.

Bytes of a zip or of a database that are changed at random are nearly always refused at the door. These
changes get past it: the container is whole, what it holds is not.
"""

from __future__ import annotations

import hashlib
import io
import json
import random
import sqlite3
import zipfile
from collections.abc import Sequence
from contextlib import closing, suppress

from tools.fuzz_changes import LONGEST, NASTY, changed

MANIFEST = "manifest.json"
_LEDGER = ".sqlite3"
#: Schemas that nobody's ledger has.
_STRANGE = (
    "DROP TABLE {0}",
    "ALTER TABLE {0} RENAME TO other",
    "ALTER TABLE {0} RENAME COLUMN {1} TO other",
    "ALTER TABLE {0} ADD COLUMN other",
    "CREATE TRIGGER other AFTER INSERT ON {0} BEGIN DELETE FROM {0}; END",
    "CREATE VIEW other AS SELECT * FROM other",
    "CREATE TABLE other (a, b)",
    "PRAGMA user_version = 5",
    "PRAGMA user_version = 99999",
    "DELETE FROM {0}",
)
_NUMBERS = (0, -1, 1, 2**63 - 1, -(2**63), 1e308, -1e308, float("inf"), float("nan"), 0.5, 91.0, 1e-300, None)


def member_spoilt(seeds: Sequence[bytes], rng: random.Random) -> bytes:
    """A whole zip of which one member was changed, or named otherwise; a manifest's sums are made to fit."""
    members = _members(rng.choice(seeds))
    name = rng.choice(sorted(members))
    data = members[name]
    if name.endswith(_LEDGER) and rng.random() < 0.5:
        members[name] = value_spoilt([data], rng)
    else:
        members[name] = changed(data, rng)[: max(LONGEST, len(data))]
    if rng.random() < 0.05:
        other = rng.choice(("../out", "/tmp/out", "a/b/c", "C:out", "photos/../../out", "", "con", "x" * 300))  # noqa: S108
        members[other] = members.pop(name)
    if name != MANIFEST and MANIFEST in members:
        members[MANIFEST] = _with_sums(members)
    return _packed(members)


def _members(archive: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(archive)) as opened:
        return {info.filename: opened.read(info) for info in opened.infolist()}


def _with_sums(members: dict[str, bytes]) -> bytes:
    manifest = json.loads(members[MANIFEST])
    manifest["files"] = {
        name: {"sha256": hashlib.sha256(data).hexdigest(), "size_bytes": len(data)}
        for name, data in members.items()
        if name != MANIFEST
    }
    return json.dumps(manifest).encode()


def _packed(members: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, data in members.items():
            archive.writestr(zipfile.ZipInfo(name), data)
    return out.getvalue()


def page_spoilt(seeds: Sequence[bytes], rng: random.Random) -> bytes:
    """A ledger whose bytes were changed, no shorter for that than it was."""
    whole = rng.choice(seeds)
    return changed(whole, rng)[: 2 * len(whole)]


def value_spoilt(seeds: Sequence[bytes], rng: random.Random) -> bytes:
    """A ledger of whole pages, in which values are what no program of this kind would write.

    Checks of the schema are not kept, types are; now and then the schema itself is another one.
    """
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as ledger:
        ledger.deserialize(rng.choice(seeds))
        ledger.execute("PRAGMA ignore_check_constraints = ON")
        tables = [row[0] for row in ledger.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        filled = [t for t in tables if ledger.execute(f"SELECT 1 FROM {t} LIMIT 1").fetchone()]  # noqa: S608
        for _ in range(rng.choice((1, 1, 2, 4))):
            table = rng.choice(filled)
            columns = ledger.execute(f"PRAGMA table_info({table})").fetchall()
            with suppress(sqlite3.Error, IndexError):  # of a table that an earlier change took away
                column = rng.choice(columns)
                if rng.random() < 0.08:
                    ledger.execute(rng.choice(_STRANGE).format(table, column[1]))
                else:
                    _change(ledger, table, column, [c[1] for c in columns if c[5]], rng)
        return ledger.serialize()


def _change(
    ledger: sqlite3.Connection, table: str, column: Sequence[object], key: Sequence[str], rng: random.Random
) -> None:
    """Another value in one cell of a table."""
    name, kind = str(column[1]), str(column[2])
    rows = ledger.execute(f"SELECT {name}, {', '.join(key)} FROM {table}").fetchall()  # noqa: S608
    old, *where = rng.choice(rows)
    marks = " AND ".join(f"{part} IS ?" for part in key)
    if kind == "TEXT":
        data = rng.choice(NASTY) if rng.random() < 0.3 else changed(str(old or "").encode(), rng)[:LONGEST]
        ledger.execute(f"UPDATE {table} SET {name} = CAST(? AS TEXT) WHERE {marks}", (data, *where))  # noqa: S608
    elif kind == "BLOB":
        ledger.execute(f"UPDATE {table} SET {name} = ? WHERE {marks}", (changed(old, rng), *where))  # noqa: S608
    else:
        ledger.execute(f"UPDATE {table} SET {name} = ? WHERE {marks}", (rng.choice(_NUMBERS), *where))  # noqa: S608
