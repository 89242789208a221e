"""Copies of the ledger that are whole while it is in use, and whether a file is a whole ledger."""

from __future__ import annotations

import json
import re
import sqlite3
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

from underoak.errors import NoAnswer
from underoak.ledger.catalog import schema_of
from underoak.ledger.database import migrations
from underoak.ledger.readable import unproven_records, unreadable_records
from underoak.ledger.soundness import schema_faults, text_faults
from underoak.model.club import ClubAddress
from underoak.model.quantities import said

#: Bytes of the longest text or grid in a ledger: an elevation grid of the largest size that is read.
LONGEST_VALUE = 200_000_000


def copy_ledger(source: Path | ClubAddress, target: Path) -> None:
    """A whole copy of the ledger as it stands at one moment, also while others write to it.

    Method: SQLite's online backup, or one snapshot of a club's database; the copy is one file without a
    journal. The source is not changed.

    Raises
    ------
    NoAnswer      when the source is no ledger or cannot be read whole
    """
    if isinstance(source, ClubAddress):
        from underoak.ledger.shared.copying import copy_shared

        copy_shared(source, target)
        return
    try:
        with closing(read_only(source)) as old, closing(sqlite3.connect(target)) as new:
            old.backup(new)
            new.execute("PRAGMA journal_mode = DELETE")
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:  # words about damage may be damaged too
        raise NoAnswer(
            f"{source} cannot be read as a ledger: {told(error)}", remedy="see what 'underoak doctor' says"
        ) from error


def read_only(path: Path) -> sqlite3.Connection:
    """A connection that cannot write; raises sqlite3.DatabaseError for a file that is none."""
    connection = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, timeout=10.0)
    connection.row_factory = sqlite3.Row
    return bounded(connection)


def bounded(connection: sqlite3.Connection) -> sqlite3.Connection:
    """The connection, which now takes no longer value: a damaged page may claim to hold a gigabyte."""
    connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, LONGEST_VALUE)
    return connection


def ledger_faults(path: Path) -> list[str]:
    """What is wrong with a ledger file, in words; nothing when it is whole. `copy_faults` looks at a copy."""
    with TemporaryDirectory(prefix="underoak-") as folder:
        copy = Path(folder) / "copy.sqlite3"
        try:
            with closing(read_only(path)) as old, closing(sqlite3.connect(copy)) as new:
                old.backup(new)
        except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
            return [f"the file cannot be read as a ledger: {told(error)}"]
        return copy_faults(copy)


def copy_faults(copy: Path) -> list[str]:
    """The same for a copy that nobody else uses.

    Looks at the schema, the pages (integrity_check), the references between records (foreign_key_check), the
    texts and documents inside records, and, in the newest schema, reads every record back. The copy is opened
    for writing, though nothing is written: SQLite passes over a schema's checks where it may only read.
    """
    try:
        with closing(bounded(sqlite3.connect(copy, timeout=10.0))) as connection:
            connection.row_factory = sqlite3.Row
            connection.execute("PRAGMA query_only = ON")
            return _faults(connection)
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
        return [f"the file cannot be read as a ledger: {told(error)}"]


def _faults(connection: sqlite3.Connection) -> list[str]:
    version, newest = schema_of(connection), migrations()[-1][0]
    if not 1 <= version <= newest:
        return [f"it has schema {version}; this program knows 1 to {newest}"]
    faults = [row[0] for row in connection.execute("PRAGMA integrity_check(20)") if row[0] != "ok"]
    faults += schema_faults(connection, version)
    faults = faults or [
        *_loose_references(connection),
        *(text_faults(connection) or _unreadable_documents(connection)),
    ]
    if faults or version < newest:
        return faults
    return [*unreadable_records(connection), *unproven_records(connection)]


def _loose_references(connection: sqlite3.Connection) -> list[str]:
    return [
        f"a row of {row[0]} refers to a {row[2]} that is not there"
        for row in connection.execute("PRAGMA foreign_key_check")
    ]


def told(error: Exception) -> str:
    """What the database says; only that it cannot be read, where its words are damaged as well."""
    return "its schema is damaged" if isinstance(error, UnicodeDecodeError) else str(error)


def _unreadable_documents(connection: sqlite3.Connection) -> list[str]:
    """JSON columns, told by their CHECK, that hold something else."""
    faults = []
    tables = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'table'").fetchall()
    for table, text in tables:
        for column in _JSON_COLUMN.findall(text):
            rows = connection.execute(f"SELECT {column} FROM {table}")  # noqa: S608 - own schema
            broken = sum(not _is_json(row[0]) for row in rows)
            if broken:
                faults.append(
                    said(broken, f"row of {table} holds", f"rows of {table} hold")
                    + f" no document in {column}"
                )
    return faults


_JSON_COLUMN = re.compile(r"json_valid\s*\((\w+)\)")


def _is_json(text: str) -> bool:
    try:
        json.loads(text)
    except (ValueError, RecursionError):
        return False
    return True


def newest_record(connection: sqlite3.Connection) -> str:
    """The last day on which anything was noted, as ISO text; empty for an empty ledger."""
    days = [
        connection.execute(f"SELECT max({column}) FROM {table}").fetchone()[0]  # noqa: S608 - own constants
        for table, column in DATED
        if connection.execute("SELECT 1 FROM sqlite_master WHERE name = ?", (table,)).fetchone()
    ]
    return max((str(day)[:10] for day in days if day), default="")


#: Tables and columns that say when something was done.
DATED: tuple[tuple[str, str], ...] = (
    ("visit", "day"),
    ("verdict", "given_on"),
    ("bought", "bought_on"),
    ("batch", "made_on"),
    ("jar", "state_on"),
    ("serving", "eaten_at"),
    ("source_file", "loaded_on"),
    ("photo", "added_on"),
    ("answer", "made_on"),
    ("learned", "made_on"),
)
