"""Open, create and migrate the ledger file."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import resources
from pathlib import Path

from underoak.errors import NoAnswer, UserMistake

_NAME = re.compile(r"(\d{4})_\w+\.sql$")


def migrations() -> list[tuple[int, str]]:
    """All schema steps as (version, SQL text), oldest first."""
    folder = resources.files("underoak.ledger") / "schema"
    steps = [(int(m[1]), f.read_text("utf-8")) for f in folder.iterdir() if (m := _NAME.match(f.name))]
    return sorted(steps)


def open_ledger(path: Path, *, create: bool = False) -> sqlite3.Connection:
    """Connection to the ledger at ``path``, migrated to the newest schema.

    Foreign keys are on, journal is a write-ahead log, and every write needs `writing`.
    Before a migration the old file is copied beside itself as ``ledger.before-NNNN.sqlite3``.

    Raises
    ------
    UserMistake   when there is no ledger and ``create`` is false
    NoAnswer      when the file is no ledger, or was written by a newer program
    """
    if not create and not path.exists():
        raise UserMistake(
            f"there is no ledger at {path}",
            expected="a home made with 'underoak new DIR'",
            remedy="make one, or name it with --home",
        )
    connection = sqlite3.connect(path, isolation_level=None, timeout=10.0)
    connection.row_factory = sqlite3.Row
    try:
        connection.execute("PRAGMA foreign_keys = ON")
        version = int(connection.execute("PRAGMA user_version").fetchone()[0])
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA cache_size = -65536")  # 64 MB: a million weather rows load at once
    except sqlite3.DatabaseError as error:
        connection.close()
        raise NoAnswer(f"{path} is not a ledger: {error}", remedy="restore it from a backup") from error
    _migrate(connection, path, version)
    return connection


def _migrate(connection: sqlite3.Connection, path: Path, version: int) -> None:
    steps = migrations()
    newest = steps[-1][0]
    if version > newest:
        connection.close()
        raise NoAnswer(
            f"{path} has schema {version}, this program knows up to {newest}", remedy="update underoak"
        )
    if 0 < version < newest:
        with sqlite3.connect(path.with_name(f"{path.stem}.before-{newest:04d}{path.suffix}")) as copy:
            connection.backup(copy)
        copy.close()
    for number, text in steps:
        if number > version:
            connection.executescript(f"BEGIN IMMEDIATE;\n{text}\nPRAGMA user_version = {number};\nCOMMIT;")


@contextmanager
def writing(connection: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """One transaction: all of it is stored, or nothing."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield connection
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    connection.execute("COMMIT")
